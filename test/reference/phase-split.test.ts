/**
 * Limits that hold in one phase each, while torque is split through the threshold between them: no alarm twice, no sample
 * at which neither watches, and a phase that does not fit the torque is told. (Limits of rotor speed with and without power.)
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { findingText } from '../../protocol/finding.ts';
import { type ConditionChange, levelName } from '../../protocol/limit.ts';
import { compileCheck } from '../../station/check/check.ts';
import { compileDerive } from '../../station/derive/derive.ts';
import { batchOf, framesAt } from '../support/tiny-batch.ts';
import { derived, group, levelLimit, mission, parameter } from '../support/tiny-mission.ts';

const PERIOD = 10_000;
const START = 1e15;

const flight = mission({
  groups: [group('main', 100)],
  parameters: [
    parameter('TQ', 'main', { unit: '%' }),
    parameter('NR', 'main', { unit: '%' }),
    parameter('FREEWHEEL', 'main', { calibration: { kind: 'states', states: { 0: 'apart', 1: 'driving' } } }),
  ],
  derived: [
    derived('PHASE', 'main', '', { states: { 0: 'On', 1: 'Off' } }),
    derived('WRONG', 'main', 'PHASE == "Off" and TQ > 20[%]'),
    derived('PHASE.on.1', 'main', 'FREEWHEEL == "apart" or TQ < 5[%]', { condition: true }),
    derived('PHASE.off.1', 'main', 'FREEWHEEL == "driving" and TQ > 15[%]', { condition: true }),
  ],
  phases: {
    parameter: 'PHASE',
    hold: 1e6,
    phases: [
      { id: 'on', name: 'On', transitions: [{ to: 'off', when: 'PHASE.on.1', for: 300_000 }] },
      { id: 'off', name: 'Off', transitions: [{ to: 'on', when: 'PHASE.off.1', for: 300_000 }] },
    ],
  },
  limits: [
    levelLimit('with-power', 'NR', { below: { caution: 97, warning: 95 }, phases: ['on'] }),
    levelLimit('without-power', 'NR', { below: { caution: 90, warning: 85 }, phases: ['off'] }),
    levelLimit('phase-against-torque', 'WRONG', { above: { warning: 0.5 }, persistence: 500_000 }),
  ],
});

interface Row {
  tq: number;
  nr: number;
  freewheel?: number;
}

/** Changes of condition over these samples, 10 ms apart, cut into batches of `cut`. */
function changesOver(rows: readonly Row[], cut: number): (ConditionChange & { sample: number; id: string })[] {
  const derive = compileDerive(flight);
  const check = compileCheck(flight);
  if (!derive.value || !check.value)
    throw new Error([...derive.findings, ...check.findings].map(findingText).join('\n'));
  const result: (ConditionChange & { sample: number; id: string })[] = [];
  for (let at = 0; at < rows.length; at += cut) {
    const part = rows.slice(at, at + cut).map(({ tq, nr, freewheel = 1 }, i) => ({
      time: START + (at + i) * PERIOD,
      values: [tq, nr, freewheel, 0, 0, 0, 0],
    }));
    const batch = batchOf(0, [0, 1, 2, 3, 4, 5, 6], part);
    derive.value.run([batch]);
    for (const change of check.value.run([batch], framesAt([(part[0] as { time: number }).time])))
      result.push({
        ...change,
        sample: (change.aircraft - START) / PERIOD,
        id: flight.limits[change.limit]?.id as string,
      });
  }
  return result;
}

const outsides = (changes: ReturnType<typeof changesOver>) =>
  changes
    .filter(({ condition }) => condition === 'outside')
    .map(({ id, sample, level }) => `${id} ${levelName(level)} ${sample}`);

/** 30 % of torque down to nothing at half a per cent a sample, and back, with noise that cannot cross both thresholds. */
const split = (nr: number, noise: readonly number[]): Row[] =>
  Array.from({ length: 400 }, (_, i) => ({
    tq: Math.max(0, i < 200 ? 30 - i / 2 : (i - 200) / 2) + ((noise[i % noise.length] as number) - 0.5) * 8,
    nr,
  }));

describe('torque split through the threshold between two phases', () => {
  const noises = fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { minLength: 3, maxLength: 50 });

  it('brings no alarm twice and leaves no sample unwatched, whatever the noise and the cuts', () => {
    fc.assert(
      fc.property(noises, fc.integer({ min: 1, max: 90 }), (noise, cut) => {
        // far below both limits: exactly one of them is outside at any time
        const changes = changesOver(split(80, noise), cut);
        const now = new Map<string, boolean>();
        const counts = new Map<string, number>();
        for (const sample of new Set(changes.map((one) => one.sample))) {
          for (const { id, condition } of changes.filter((one) => one.sample === sample)) {
            const isOutside = condition === 'outside';
            if (isOutside && !now.get(id)) counts.set(id, (counts.get(id) ?? 0) + 1);
            now.set(id, isOutside);
          }
          expect([...now.values()].filter(Boolean).length, `at sample ${sample}`).toBe(1);
        }
        expect([counts.get('with-power'), counts.get('without-power')]).toEqual([2, 1]);
      }),
      { seed: 20261125, numRuns: 150 },
    );
  });

  it('uses the wide limit only in its phase: a speed between the two limits alarms before and after, not within', () => {
    const changes = changesOver(split(93, [0.5]), 37);
    // below 5 % first at sample 51 and off 0.3 s later; above 15 % first at 231, on 0.3 s later
    expect(
      changes.filter(({ id }) => id === 'with-power').map(({ condition, sample }) => `${condition} ${sample}`),
    ).toEqual(['outside 0', 'inside 81', 'outside 261']);
    expect(outsides(changes).filter((line) => line.startsWith('without'))).toEqual([]);
  });

  it('tells within half a second of it a phase that torque contradicts: a freewheel switch that sticks', () => {
    const rows = Array.from({ length: 200 }, (_, i): Row => ({ tq: 60, nr: 93, freewheel: i < 20 ? 1 : 0 }));
    // apart from sample 20, off at 50, contradicted since then; told 0.5 s later
    expect(outsides(changesOver(rows, 13))).toEqual(['with-power warning 0', 'phase-against-torque warning 100']);
  });
});
