import { describe, expect, it } from 'vitest';
import type { Card, TestPoint } from '../../protocol/card.ts';
import type { ConductView, PointGate, PointRun, StepGateView } from '../../protocol/conduct.ts';
import {
  buildUpOrder,
  currentRun,
  nextGates,
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
  cleared: null,
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
      'e repeat',
      'f current',
    ]);
    expect(currentRun(conduct)?.number).toBe(6);
    expect(pointInView(plannedCards([card(points)], conduct))?.point.id).toBe('f');
  });

  it('is not cleared where the station says that no decision reaches', () => {
    const steps = [80, 90, 100].map((step) => point(`s${step}`, { family: 'level', step }));
    const told = (cleared: number | null, points: PointRun[] = []) =>
      states(steps, view({ points, steps: [{ ...gate(90), cleared }] }))?.map((one) => one.split(' ')[1]);
    const flown = run(1, 's80', judged('good'));
    expect(told(null)).toEqual(['step', 'step', 'step']);
    expect(told(null, [flown])).toEqual(['good', 'step', 'step']);
    expect(told(90, [flown])).toEqual(['good', 'not', 'step']);
    expect(told(90 - 1e-9, [flown])).toEqual(['good', 'not', 'step']);
    expect(told(85, [flown])).toEqual(['good', 'step', 'step']);
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

  it('is held or manoeuvred, as its card says, and closed when it was judged', () => {
    const usual = (gate: PointGate, recordFrom: 'on condition' | 'manoeuvre', more = {}) =>
      nextGates({ gate, ...more }, { recordFrom }).usual;
    expect(usual('setup', 'manoeuvre')).toBe('on condition');
    expect(usual('on condition', 'manoeuvre')).toBe('manoeuvre');
    expect(usual('on condition', 'on condition')).toBe('recover');
    expect(usual('recover', 'manoeuvre')).toBe('admin');
    expect(usual('recover', 'manoeuvre', judged('good'))).toBe('closed');
    expect(usual('setup', 'manoeuvre', judged('skip'))).toBe('closed');
    expect(usual('closed', 'manoeuvre')).toBeUndefined();
  });

  it('is so many scatters off its prediction, where both are known', () => {
    expect(scattersOff(0.13, 0.11, 0.01)).toBeCloseTo(2, 9);
    expect(scattersOff(null, 0.11, 0.01)).toBeNull();
    expect(scattersOff(0.13, 0.11, 0)).toBeNull();
  });
});
