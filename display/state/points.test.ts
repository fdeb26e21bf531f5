import { describe, expect, it } from 'vitest';
import type { Card, TestPoint } from '../../protocol/card.ts';
import type { ConductView, PointRun, StepGateView } from '../../protocol/conduct.ts';
import {
  buildUpOrder,
  currentRun,
  gateAfter,
  plannedCards,
  pointInView,
  recordElapsed,
  scattersOff,
} from './points.ts';

const point = (id: string, more: Partial<TestPoint> = {}): TestPoint => ({
  ...{ id, title: id, card: 'one', configuration: [], tolerance: [], dwell: 5e6, data: [], mayBeOutside: 0.05 },
  ...{ hold: 20e6, manoeuvre: '', recordFrom: 'on condition', recover: '', stops: [], required: [], dropout: 0 },
  ...{ repeatRule: '', predicted: [] },
  ...more,
});
const done = { person: 'tc', position: 'test conductor', aircraft: 1, ground: 1 };
const run = (number: number, of: string, more: Partial<PointRun> = {}): PointRun => ({
  ...{ number, point: of, attempt: 1, gate: 'closed', gates: [], offer: '', offered: 0, bands: [] },
  ...{ configuration: [], recordFrom: 0, recordTo: 0, recorded: 0, statistics: [] },
  ...more,
});
const judged = (judgement: 'good' | 'repeat' | 'skip') => ({ judged: { judgement, note: '', ...done } });
const view = (more: Partial<ConductView> = {}): ConductView => ({
  ...{ points: [], steps: [], anomalies: [], readiness: null, sequences: [], checklists: [], stopwatches: [] },
  ...{ voiceLost: null, evidence: null, faults: [] },
  ...more,
});
const gate = (next: number | null, decisions: StepGateView['decisions'] = []): StepGateView => ({
  ...{ family: 'level', next, point: '', advice: 'clear', offered: null, reasons: [], blocks: [], measures: [] },
  decisions,
});
const card = (points: TestPoint[]): Card => ({ id: 'one', title: 'One', points });
const states = (points: TestPoint[], conduct: ConductView) =>
  plannedCards([card(points)], conduct)[0]?.points.map(({ point: { id }, state }) => `${id} ${state}`);

describe('points in build-up order', () => {
  it('stand after the one they build up from, else as in the file', () => {
    const order = buildUpOrder([point('c', { parent: 'b' }), point('a'), point('b', { parent: 'a' }), point('d')]);
    expect(order.map(({ id }) => id)).toEqual(['a', 'b', 'c', 'd']);
  });

  it('are all there, once each, whatever they name', () => {
    const order = buildUpOrder([point('a', { parent: 'b' }), point('b', { parent: 'a' }), point('c', { parent: '?' })]);
    expect(order.map(({ id }) => id).sort()).toEqual(['a', 'b', 'c']);
  });
});

describe('the state of a point', () => {
  it('is what its newest run became', () => {
    const points = ['a', 'b', 'c', 'd', 'e', 'f'].map((id) => point(id));
    const conduct = view({
      points: [
        run(1, 'a', judged('repeat')),
        run(2, 'a', judged('good')),
        run(3, 'b', judged('repeat')),
        run(4, 'c', judged('skip')),
        run(5, 'e'),
        run(6, 'f', { gate: 'setup' }),
      ],
    });
    expect(states(points, conduct)).toEqual([
      'a good',
      'b repeat',
      'c skipped',
      'd not flown',
      'e to judge',
      'f current',
    ]);
    expect(currentRun(conduct)?.number).toBe(6);
    expect(pointInView(plannedCards([card(points)], conduct))?.point.id).toBe('f');
  });

  it('is not cleared while the gate of its family has not let through its step, and not before', () => {
    const steps = [80, 90, 100].map((step) => point(`s${step}`, { family: 'level', step }));
    expect(states(steps, view({ steps: [gate(90)] }))).toEqual([
      's80 not flown',
      's90 step not cleared',
      's100 step not cleared',
    ]);
    const clear = { step: 90, decision: 'clear' as const, advice: 'clear', note: '', ...done };
    expect(states(steps, view({ steps: [gate(90, [clear])] }))?.[1]).toBe('s90 not flown');
    const held = { ...clear, decision: 'hold' as const };
    expect(states(steps, view({ steps: [gate(90, [clear, held])] }))?.[1]).toBe('s90 step not cleared');
    // without a view of its gate nothing is claimed
    expect(states(steps, view())?.[1]).toBe('s90 not flown');
  });

  it('leads to the first point that still has to be flown', () => {
    const points = ['a', 'b', 'c'].map((id) => point(id));
    const cards = plannedCards([card(points)], view({ points: [run(1, 'a', judged('good'))] }));
    expect(pointInView(cards)?.point.id).toBe('b');
    expect(pointInView([])).toBeUndefined();
  });
});

describe('a run', () => {
  it('counts its record from its begin to its end, or to now', () => {
    expect(recordElapsed(run(1, 'a'), 9e6)).toBeNaN();
    expect(recordElapsed(run(1, 'a', { recordFrom: 4e6 }), 9e6)).toBe(5);
    expect(recordElapsed(run(1, 'a', { recordFrom: 4e6, recordTo: 6e6 }), 9e6)).toBe(2);
  });

  it('has a gate after each but the last', () => {
    expect(gateAfter('setup')).toBe('on condition');
    expect(gateAfter('closed')).toBeUndefined();
  });

  it('is so many scatters off its prediction, where both are known', () => {
    expect(scattersOff(0.13, 0.11, 0.01)).toBeCloseTo(2, 9);
    expect(scattersOff(null, 0.11, 0.01)).toBeNull();
    expect(scattersOff(0.13, 0.11, 0)).toBeNull();
  });
});
