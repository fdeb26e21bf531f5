/**
 * One flight log, folded in different ways, must say the same: however frames are gathered, and wherever the state is
 * saved, taken through serialization and restored.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Entry, TICK } from '../../protocol/entry.ts';
import type { RoomView } from '../../protocol/fold.ts';
import { groundTime } from '../../protocol/time.ts';
import { limitOf } from '../support/limit-flight.ts';
import {
  derived,
  frameBytes,
  frameEntry,
  type GroupSamples,
  group,
  levelLimit,
  mission,
  parameter,
} from '../support/tiny-mission.ts';
import { fold } from './fold.ts';

const FRAME = 20_000;
const START = 1_764_064_800_000_000;

const flight = mission({
  groups: [group('fast', 500), group('slow', 10)],
  parameters: [
    parameter('A', 'fast', { physicalRange: [-90, 90] }),
    parameter('B', 'slow', { frozenAfter: 6 }),
    parameter('ON', 'slow', { format: 'u8', calibration: { kind: 'states', states: { '0': 'off', '1': 'on' } } }),
  ],
  derived: [
    derived('SUM', 'A', 'A + B'),
    derived('SMOOTH', 'A', 'lowpass(A, 20[Hz], 2)'),
    derived('PHASE', 'fast', ''),
    derived('UP', 'fast', 'A > 20', { condition: true }),
    derived('DOWN', 'fast', 'A < -10', { condition: true }),
  ],
  phases: {
    parameter: 'PHASE',
    hold: 50_000,
    phases: [
      { id: 'low', name: 'Low', transitions: [{ to: 'high', when: 'UP', for: 6_000 }] },
      { id: 'high', name: 'High', critical: true, transitions: [{ to: 'low', when: 'DOWN', for: 0 }] },
    ],
  },
  limits: [
    levelLimit('a-high', 'A', { above: { caution: 40, warning: 60 }, persistence: 6_000, hysteresis: 3 }),
    levelLimit('a-low', 'A', { below: { warning: -50 }, persistence: 0, hysteresis: 0, while: 'ON' }),
    levelLimit('b-high', 'B', { above: { advisory: 20 }, persistence: 150_000, hysteresis: 1 }),
    levelLimit('sum-high', 'SUM', { above: { stop: 70 }, persistence: 20_000, hysteresis: 5 }),
    levelLimit('smooth', 'SMOOTH', { above: { caution: 30 }, persistence: 30_000, hysteresis: 5, suppressIn: ['low'] }),
    levelLimit('high-only', 'A', { below: { caution: 0 }, persistence: 4_000, phases: ['high'] }),
    limitOf('slope', 'rate', 'A', { settings: { window: 40_000 }, above: { caution: 900, warning: 2000 } }),
    limitOf('long', 'time at level', 'A', { settings: { over: 20, count: 'whole flight' }, above: { caution: 0.1 } }),
    limitOf('apart', 'plausibility', 'A', { settings: { estimate: 'B' }, above: { caution: 50 }, hysteresis: 5 }),
    limitOf('turn', 'by phase', 'A', {
      byPhase: { low: { above: { caution: 30 } }, high: { above: { caution: 45, warning: 65 } } },
      persistence: 8_000,
    }),
    limitOf('both', 'logic', 'A', {
      settings: { when: 'a-high and not slope' },
      above: { warning: 0.5 },
      persistence: 10_000,
    }),
    limitOf('blind', 'validity', 'A', {
      settings: { parameters: ['A', 'B'] },
      above: { caution: 0.5 },
      family: 'data',
    }),
  ],
});

/** What happens in one frame period. */
interface Period {
  /** which receivers bring the frame, and how late */
  north: boolean;
  south: boolean;
  delay: number;
  /** the signal */
  level: number;
  b: number;
  on: number;
  slow: boolean;
  /** aircraft clock steps, rarely */
  step: number;
  action: number;
}

const period: fc.Arbitrary<Period> = fc.record({
  north: fc.boolean(),
  south: fc.boolean(),
  delay: fc.nat(45_000),
  level: fc.integer({ min: -60, max: 75 }),
  b: fc.integer({ min: 18, max: 23 }),
  on: fc.nat(1),
  slow: fc.boolean(),
  step: fc.oneof(
    { weight: 40, arbitrary: fc.constant(0) },
    { weight: 1, arbitrary: fc.constantFrom(-2_000_000, 15_000_000, -5_000) },
  ),
  action: fc.nat(12),
});

/** Silences, so that receivers, the stream and groups go silent and stale. */
const periods = fc
  .array(
    fc.tuple(
      period,
      fc.oneof({ weight: 30, arbitrary: fc.constant(1) }, { weight: 1, arbitrary: fc.integer({ min: 30, max: 90 }) }),
    ),
    {
      minLength: 20,
      maxLength: 150,
    },
  )
  .map((runs) => runs.flatMap(([of, silence]) => [of, ...Array<undefined>(silence - 1).fill(undefined)]));

function entriesOf(of: (Period | undefined)[]): Entry[] {
  const timed: { at: number; order: number; entry: (ground: number) => Entry }[] = [];
  let clock = START;
  let level = 0;
  of.forEach((p, n) => {
    clock += FRAME + (p?.step ?? 0);
    if (!p) return;
    const at = START + n * FRAME;
    const rows = Array.from({ length: 10 }, (_, i) => ({ A: Math.round(level + ((p.level - level) * i) / 9) }));
    level = p.level;
    const groups: GroupSamples[] = [{ group: 'fast', rows }];
    if (p.slow) groups.push({ group: 'slow', rows: [{ B: p.b, ON: p.on }] });
    const frame = frameBytes(flight, n, clock, groups);
    if (p.north) timed.push({ at, order: n, entry: (g) => frameEntry(g, frame, 'North') });
    if (p.south) timed.push({ at: at + p.delay, order: n + 0.5, entry: (g) => frameEntry(g, frame, 'South') });
    const act = (person: string, position: string, action: Extract<Entry, { kind: 'action' }>['action']) =>
      timed.push({
        at: at + 1,
        order: n,
        entry: (g) => ({ kind: 'action', ground: groundTime(g), person, position, request: n, action }),
      });
    if (p.action === 1) act('engineer', 'engine', { act: 'acknowledge', alarm: 'a-high' });
    if (p.action === 2) act('conductor', 'test conductor', { act: 'acknowledge', alarm: 'sum-high' });
    if (p.action === 3) {
      act('engineer', 'engine', {
        act: 'stop call',
        stopClass: 1,
        word: 'KNOCK IT OFF',
        reason: 'x',
        caller: '',
        alarm: '',
      });
    }
    if (p.action === 5) act('engineer', 'engine', { act: 'shelve', alarm: 'smooth', reason: 'known', seconds: 0.3 });
    if (p.action === 6) act('conductor', 'test conductor', { act: 'unshelve', alarm: 'smooth' });
    if (p.action === 7) act('director', 'test director', { act: 'take out of service', alarm: 'b-high', reason: 'x' });
    if (p.action === 8) act('director', 'test director', { act: 'return to service', alarm: 'b-high' });
    const change = (values: { caution: number; warning: number }) => ({
      ...{
        act: 'change limit' as const,
        limit: 'a-high',
        values: { above: values, persistence: 4_000, hysteresis: 3 },
      },
      ...{ reason: 'tried', pilotInformed: true, offCondition: true },
    });
    if (p.action === 9) act('engineer', 'engine', change({ caution: p.b + 10, warning: p.b + 25 }));
    if (p.action === 10) act('engineer', 'engine', change({ caution: p.b + 30, warning: p.b + 45 }));
    if (p.action === 11) {
      for (let number = 1; number <= 12; number++) {
        const said = { pilotInformed: true, offCondition: true, note: '' };
        act('director', 'test director', { act: 'approve change', change: number, ...said });
      }
    }
    if (p.action === 4) act('nobody', 'engine', { act: 'mark', text: 'm', aircraft: 0 });
  });
  timed.sort((a, b) => a.at - b.at || a.order - b.order);
  const entries: Entry[] = [{ kind: 'configuration', ground: groundTime(START), mission: flight, files: [] }];
  let ground = START;
  for (const { at, entry } of timed) {
    for (; ground + TICK < at; ground += TICK) entries.push({ kind: 'tick', ground: groundTime(ground + TICK) });
    ground = Math.max(ground, at);
    entries.push(entry(ground));
  }
  for (let i = 1; i <= 60; i++) entries.push({ kind: 'tick', ground: groundTime(ground + i * TICK) });
  return entries;
}

describe('no result depends on how samples are cut into batches', () => {
  it('tells the same alarms, samples, answers and room for any gathering', () => {
    let alarms = 0;
    const changed = { 'in force': 0, proposed: 0, refused: 0, withdrawn: 0 };
    const events = new Map<string, number>();
    fc.assert(
      fc.property(periods, (of) => {
        const entries = entriesOf(of);
        const live = fold(entries, 0);
        alarms += live.alarms.length;
        for (const { event, alarm } of live.alarms)
          events.set(alarm, (events.get(alarm) ?? 0) + (event === 'raised' ? 1 : 0));
        for (const { state } of (live.room as RoomView).changes) changed[state]++;
        for (const gather of [50_000, 1_000_000, 1e12]) expect(fold(entries, gather)).toEqual(live);
      }),
      { seed: 2026, numRuns: 60 },
    );
    expect(alarms).toBeGreaterThan(1000);
    expect(changed['in force']).toBeGreaterThan(20);
    for (const { id } of flight.limits) expect([id, (events.get(id) ?? 0) > 0]).toEqual([id, true]);
  });

  it('tells the same after being saved and restored at any moments', () => {
    fc.assert(
      fc.property(
        periods,
        fc.array(fc.nat(400), { minLength: 1, maxLength: 6 }),
        fc.constantFrom(0, 200_000),
        (of, at, gather) => {
          const entries = entriesOf(of);
          expect(fold(entries, gather, new Set(at.map((n) => n % entries.length)))).toEqual(fold(entries, gather));
        },
      ),
      { seed: 2027, numRuns: 60 },
    );
  });
});
