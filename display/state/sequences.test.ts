import { describe, expect, it } from 'vitest';
import type { ConductView, SequenceView } from '../../protocol/conduct.ts';
import { dueFor, isUnderWay, sequenceInView, stepInView } from './sequences.ts';

const step = (state: SequenceView['steps'][number]['state'], at = 0) => ({
  name: state,
  state,
  at,
  took: 0,
  within: 5,
});
const sequence = (more: Partial<SequenceView>): SequenceView => ({
  ...{ id: 's', state: 'waiting', times: 0, began: 0, ended: 0, steps: [], measures: [], gate: '' },
  ...{ earlier: [], dropped: 0 },
  ...more,
});
const of = (...sequences: SequenceView[]) => ({ sequences }) as unknown as ConductView;

describe('the sequence in view', () => {
  it('is the one under way, else the last that began, else the first', () => {
    const waiting = sequence({ id: 'start' });
    const done = sequence({ id: 'run-up', state: 'done', times: 1, began: 90, ended: 95 });
    const older = sequence({ id: 'pick-up', state: 'broken off', times: 2, began: 50, ended: 60 });
    const late = sequence({ id: 'set-down', state: 'late', times: 1, began: 40 });
    expect(sequenceInView(of(waiting, done, older, late))?.id).toBe('set-down');
    expect(sequenceInView(of(waiting, done, older))?.id).toBe('run-up');
    expect(sequenceInView(of(waiting))?.id).toBe('start');
    expect(sequenceInView(of())).toBeUndefined();
    expect(sequenceInView(undefined)).toBeUndefined();
  });

  it('is under way while it cannot be told only when it has begun', () => {
    expect(isUnderWay(sequence({ state: 'cannot tell' }))).toBe(false);
    expect(isUnderWay(sequence({ state: 'cannot tell', times: 1, began: 5 }))).toBe(true);
    expect(isUnderWay(sequence({ state: 'cannot tell', times: 1, began: 5, ended: 6 }))).toBe(false);
  });
});

describe('the step that is due', () => {
  it('has taken the time since the one before it, the first since the beginning', () => {
    const first = sequence({ state: 'running', began: 100, steps: [step('due'), step('waiting')] });
    expect(dueFor(first, 130)).toBe(30);
    const second = sequence({ state: 'late', began: 100, steps: [step('done', 120), step('missing')] });
    expect(dueFor(second, 130)).toBe(10);
    expect(dueFor(second, 110)).toBe(0);
    expect(dueFor(second, 0)).toBeNaN();
    expect(dueFor(sequence({ state: 'done', began: 100, ended: 110 }), 130)).toBeNaN();
    expect(stepInView(second)?.name).toBe('missing');
    expect(stepInView(sequence({ state: 'done', steps: [step('done', 5)] }))).toBeUndefined();
  });
});
