import { describe, expect, it } from 'vitest';
import { choiceOf, choicesOf, classOfChoice, isStartPhase, wordsOfChoice } from './stop-words.ts';

const words = { class1: ['KNOCK IT OFF'], class2: ['STOP TEST'], start: ['ABORT START'] };
const none = { class1: ['KNOCK IT OFF'], class2: ['STOP TEST'] };

describe('briefed words', () => {
  it('offers the call of the start phase only where one was briefed, and counts it as class 1', () => {
    expect(choicesOf(words)).toEqual(['class 1', 'class 2', 'start']);
    expect(choicesOf(none)).toEqual(['class 1', 'class 2']);
    expect(classOfChoice('start')).toBe(1);
    expect(wordsOfChoice(words, 'start')).toEqual(['ABORT START']);
  });

  it('knows the start phase by what the mission says, else by its name', () => {
    expect(isStartPhase(words, 'start')).toBe(true);
    expect(isStartPhase(words, 'hover')).toBe(false);
    expect(isStartPhase(none, 'start')).toBe(false);
    expect(isStartPhase({ ...words, startPhases: ['spool'] }, 'start')).toBe(false);
    expect(isStartPhase({ ...words, startPhases: ['spool'] }, 'spool')).toBe(true);
  });

  it('finds the choice a word belongs to; a word of no list is class 1', () => {
    expect(choiceOf(words, 1, 'ABORT START')).toBe('start');
    expect(choiceOf(words, 2, 'STOP TEST')).toBe('class 2');
    expect(choiceOf(words, 1, 'WHATEVER')).toBe('class 1');
  });
});
