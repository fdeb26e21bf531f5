/**
 * The whole validity chain in one flight log: lost link, damaged messages, wrong rates, stale groups, frozen, impossible
 * and implausible values. Every code occurs, and none depends on how frames are gathered or where the state was saved.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Entry, TICK } from '../../protocol/entry.ts';
import { groundTime } from '../../protocol/time.ts';
import { Validity } from '../../protocol/validity.ts';
import { Pipeline } from '../../station/pipeline.ts';
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

const FRAME = 100_000;
const START = 1_764_064_800_000_000;

const flight = mission({
  groups: [group('fast', 100), group('slow', 10, 700_000)],
  parameters: [
    parameter('A', 'fast', { physicalRange: [-90, 90], frozenAfter: 12, plausible: { while: 'AGREE' } }),
    parameter('C', 'fast', { format: 'u16', bits: { shift: 4, width: 12, coding: "two's complement" } }),
    parameter('B', 'slow', { plausible: { fastest: 300 } }),
  ],
  derived: [
    derived('AGREE', 'A', 'abs(A - B) < 60'),
    derived('SUM', 'A', 'A + B + C'),
    derived('SLOW_SUM', 'B', 'A + B'),
  ],
  limits: [
    levelLimit('a-high', 'A', { above: { caution: 30, warning: 60 }, persistence: 20_000, hysteresis: 3 }),
    levelLimit('sum-high', 'SUM', { above: { warning: 60 }, persistence: 50_000, hysteresis: 5 }),
    levelLimit('slow-sum', 'SLOW_SUM', { above: { stop: 70 }, persistence: 0, hysteresis: 5 }),
  ],
});

/** What one stretch of the flight is like. */
const stretch = fc.record({
  frames: fc.integer({ min: 5, max: 160 }),
  /** samples of the fast group in a frame; ten are right */
  samples: fc.constantFrom(10, 10, 10, 5, 16),
  hasSlow: fc.boolean(),
  what: fc.constantFrom('received', 'received', 'received', 'received', 'damaged', 'silent'),
  isLossy: fc.boolean(),
  levels: fc.array(fc.tuple(fc.integer({ min: -95, max: 95 }), fc.integer({ min: -25, max: 45 })), {
    minLength: 1,
    maxLength: 12,
  }),
  chance: fc.infiniteStream(fc.nat(99)),
});
type Stretch = typeof stretch extends fc.Arbitrary<infer T> ? T : never;

function entriesOf(stretches: Stretch[]): Entry[] {
  const entries: Entry[] = [{ kind: 'configuration', ground: groundTime(START), mission: flight, files: [] }];
  let n = 0;
  for (const { frames, samples, hasSlow, what, isLossy, levels, chance } of stretches) {
    for (let k = 0; k < frames; k++, n++) {
      const at = START + n * FRAME;
      const [a, b] = levels[k % levels.length] as [number, number];
      const isStill = k % 7 === 0;
      const rows = Array.from({ length: samples }, (_, i) => ({ A: isStill ? a : a + (i % 3), C: (a + i) & 0xffff }));
      const groups: GroupSamples[] = [{ group: 'fast', rows }];
      if (hasSlow) groups.push({ group: 'slow', rows: [{ B: b }] });
      const isMissed = isLossy && (chance.next().value ?? 0) < 10;
      if (what === 'received' && !isMissed) entries.push(frameEntry(at, frameBytes(flight, n, at, groups)));
      else if (what === 'damaged') entries.push(frameEntry(at, Uint8Array.of(1, 2, 3)));
      for (let t = TICK; t < FRAME; t += TICK) entries.push({ kind: 'tick', ground: groundTime(at + t) });
    }
  }
  return entries;
}

const flights = fc.array(stretch, { minLength: 2, maxLength: 7 });

describe('the validity chain', () => {
  it('gives the same codes, alarms and room for any gathering, saved and restored or not', () => {
    fc.assert(
      fc.property(flights, fc.array(fc.nat(4000), { maxLength: 5 }), (stretches, at) => {
        const entries = entriesOf(stretches);
        const live = fold(entries, 0);
        for (const gather of [250_000, 1e12]) expect(fold(entries, gather)).toEqual(live);
        expect(fold(entries, 500_000, new Set(at.map((n) => n % entries.length)))).toEqual(live);
      }),
      { seed: 2028, numRuns: 25 },
    );
  });

  it('reaches every code it has, each in its place', () => {
    const seen = new Map<number, number>();
    for (const stretches of fc.sample(flights, { seed: 2029, numRuns: 12 })) {
      const pipeline = new Pipeline({ gather: 0 });
      for (const entry of entriesOf(stretches)) {
        pipeline.step(entry);
        for (const code of pipeline.latest.validity) seen.set(code, (seen.get(code) ?? 0) + 1);
      }
    }
    const { good, link, frame, rate, stale, frozen, range, plausible } = Validity;
    for (const code of [good, link, frame, rate, stale, frozen, range, plausible])
      expect(seen.get(code) ?? 0, `code ${code}`).toBeGreaterThan(10);
  });
});
