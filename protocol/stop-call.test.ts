import { describe, expect, it } from 'vitest';
import { stopCallOf } from '../test/support/stop-call.ts';
import {
  type BriefedWords,
  calledGround,
  evidenceState,
  heard,
  type StopCallStep,
  testingEnded,
  timeToSafe,
  wordTroubles,
} from './stop-call.ts';
import { groundTime } from './time.ts';

describe('a word', () => {
  it.each([
    ['stop test', 'STOP TEST'],
    ['  Stop \t test! ', 'STOP TEST'],
    ['Abort, abort - ABORT.', 'ABORT ABORT ABORT'],
    ['ＳＴＯＰ', 'STOP'],
    ['Größe 2', 'GRÖSSE 2'],
    ['...', ''],
    ['', ''],
  ])('%j is heard as %j', (written, spoken) => {
    expect(heard(written)).toBe(spoken);
  });
});

describe('the words of a day', () => {
  const fine: BriefedWords = { class1: ['KNOCK IT OFF', 'ABORT ABORT ABORT'], class2: ['STOP TEST'] };
  const troubles = (more: Partial<BriefedWords>, hasTermination?: boolean): string[] =>
    wordTroubles({ ...fine, ...more }, hasTermination).map(
      ({ list, index, code, expected }) => `${list} ${index} ${code}: ${expected}`,
    );

  it('are fine like these', () => {
    expect(troubles({})).toEqual([]);
    expect(troubles({ start: ['ABORT START'], range: ['TERMINATE'] }, true)).toEqual([]);
    expect(troubles({ class2: ['STOP TEST', 'TERMINATE'] }, false)).toEqual([]);
    expect(troubles({ class1: ['BREAK'], class2: ['ABORT'], start: ['ABORT ABORT'] })).toEqual([]);
  });

  it('are each in one list, and once', () => {
    const once = (list: string): string => `a word briefed once; it is in ${list} already`;
    expect(troubles({ class1: ['A', 'B', 'a!'] })).toEqual([`class1 2 duplicate-name: ${once('class 1')}`]);
    expect(troubles({ class2: ['B', 'Knock it off'] })).toEqual([`class2 1 duplicate-name: ${once('class 1')}`]);
    expect(troubles({ start: ['stop  test'] })).toEqual([`start 0 duplicate-name: ${once('class 2')}`]);
    expect(troubles({ start: ['B'], range: ['b', 'STOP TEST'] })).toEqual([
      `range 0 duplicate-name: ${once('start')}`,
      `range 1 duplicate-name: ${once('class 2')}`,
    ]);
  });

  it('can be spoken', () => {
    expect(troubles({ class1: ['!'], range: ['?'] })).toEqual([
      'class1 0 bad-value: a word that can be spoken',
      'range 0 bad-value: a word that can be spoken',
    ]);
  });

  it('keep clear of the words of the range, also within longer ones', () => {
    const expected = 'a word without DESTRUCT, which is locked for the range';
    expect(
      troubles({ class1: ['destruct now'], class2: ['NO DESTRUCT'], start: ['X DESTRUCT Y'], range: ['Destruct'] }),
    ).toEqual([`class1 0 bad-value: ${expected}`, `class2 0 bad-value: ${expected}`, `start 0 bad-value: ${expected}`]);
    expect(troubles({ class2: ['DESTRUCTION'], range: ['DESTRUCT', 'DESTRUCT ALL'] })).toEqual([]);
  });

  it('leave ABORT, said three times, to class 1', () => {
    const expected = 'a word without ABORT ABORT ABORT, which is class 1 always';
    expect(
      troubles({ class1: ['BREAK'], class2: ['Abort, abort, abort'], start: ['ABORT ABORT ABORT START'] }),
    ).toEqual([`class2 0 bad-value: ${expected}`, `start 0 bad-value: ${expected}`]);
    expect(troubles({ class1: ['BREAK'], range: ['ABORT ABORT ABORT'] })).toEqual([`range 0 bad-value: ${expected}`]);
  });

  it('have TERMINATE only where it is said that there is no termination system', () => {
    const expected = 'a word without TERMINATE, unless the aircraft is said to have no termination system';
    const more = { class1: ['TERMINATE ALL'], class2: ['Terminate'], start: ['TERMINATE START'] };
    const refused = [
      `class1 0 bad-value: ${expected}`,
      `class2 0 bad-value: ${expected}`,
      `start 0 bad-value: ${expected}`,
    ];
    expect(troubles(more, undefined)).toEqual(refused);
    expect(troubles(more, true)).toEqual(refused);
    expect(troubles(more, false)).toEqual([]);
    expect(troubles({ class2: ['TERMINATED'] }, true)).toEqual([]);
  });
});

describe('a stop call', () => {
  const said = (step: StopCallStep['step'], ground: number): StopCallStep => ({
    ...(stopCallOf().steps[0] as StopCallStep),
    step,
    ground: groundTime(ground),
  });

  it('was made when the display says, or else when it was logged', () => {
    expect(calledGround(stopCallOf())).toBe(2_000_000);
    expect(calledGround(stopCallOf({ madeGround: groundTime(1_500_000) }))).toBe(1_500_000);
  });

  it('has its time to safe from when it was made, once that is logged', () => {
    const steps = [said('called', 2_000_000), said('recovering', 3_000_000)];
    expect(timeToSafe(stopCallOf({ steps }))).toBeUndefined();
    const whole = [...steps, said('safe', 9_000_000), said('closed', 20_000_000)];
    expect(timeToSafe(stopCallOf({ steps: whole }))).toBe(7_000_000);
    expect(timeToSafe(stopCallOf({ steps: whole, madeGround: groundTime(1_000_000) }))).toBe(8_000_000);
  });

  it('has an evidence window that is open up to its last microsecond', () => {
    const { toGround } = stopCallOf().evidence;
    expect(evidenceState(stopCallOf(), groundTime(toGround))).toBe('open');
    expect(evidenceState(stopCallOf(), groundTime(toGround + 1))).toBe('frozen');
  });

  it('ends testing when it repeats another', () => {
    expect(testingEnded([])).toBe(false);
    expect(testingEnded([stopCallOf(), stopCallOf({ number: 2 })])).toBe(false);
    expect(testingEnded([stopCallOf(), stopCallOf({ number: 2, repeatOf: 1 }), stopCallOf({ number: 3 })])).toBe(true);
  });
});
