import { describe, expect, it } from 'vitest';
import { findingText } from '../../protocol/finding.ts';
import type { PhaseMachine } from '../../protocol/phase.ts';
import { batchOf } from '../../test/support/tiny-batch.ts';
import { derived, group, mission, parameter } from '../../test/support/tiny-mission.ts';
import { compileDerive, explain } from './derive.ts';

const HUNDREDTH = 10_000;

/** Torque decides: power on above 10 %, off below 5 %, each for its time. */
const power: PhaseMachine = {
  parameter: 'PHASE',
  hold: 50 * HUNDREDTH,
  phases: [
    { id: 'on', name: 'Power on', transitions: [{ to: 'off', when: 'PHASE.on.1', for: 30 * HUNDREDTH }] },
    { id: 'off', name: 'Power off', transitions: [{ to: 'on', when: 'PHASE.off.1', for: 10 * HUNDREDTH }] },
  ],
};

const flight = (phases: PhaseMachine = power, more: Parameters<typeof mission>[0] = {}) =>
  mission({
    groups: [group('main', 100)],
    parameters: [parameter('TQ', 'main', { unit: '%' })],
    derived: [
      derived('PHASE', 'main', '', { states: { 0: 'Power on', 1: 'Power off' } }),
      derived('IS_OFF', 'main', 'PHASE == "Power off"'),
      derived('PHASE.on.1', 'main', 'TQ < 5[%]', { condition: true }),
      derived('PHASE.off.1', 'main', 'TQ > 10[%]', { condition: true }),
    ],
    phases,
    ...more,
  });

/** Phase at each sample of the torque, 10 ms apart; `x` where it is not usable. `null` = no torque. */
function fly(torque: (number | null)[], of = flight()): string {
  const stage = compileDerive(of);
  if (!stage.value) throw new Error(stage.findings.map(findingText).join('\n'));
  const blank = of.derived.map(() => 0);
  const batch = batchOf(
    0,
    [0, 1, 2, 3, 4],
    torque.map((value, i) => ({
      time: 1e15 + i * HUNDREDTH,
      values: [value ?? Number.NaN, ...blank],
      validity: [value === null ? 11 : 0, ...blank],
    })),
  );
  stage.value.run([batch]);
  const told = Array.from(batch.validity[1] as Uint8Array, (code, i) => {
    if (code !== 0) return code === 15 ? 'x' : '?';
    expect(batch.values[2]?.[i]).toBe(batch.values[1]?.[i]);
    return String(batch.values[1]?.[i]);
  }).join('');
  return told.replace(/(.)\1*/g, (run) => `${run[0]}${run.length} `).trim();
}

const ramp = (from: number, to: number, samples: number) =>
  Array.from({ length: samples }, (_, i) => from + ((to - from) * i) / (samples - 1));
const steady = (value: number | null, samples: number) => Array.from({ length: samples }, () => value);

describe('the phase of flight', () => {
  it('changes once when torque is split through the threshold and back, and is told at every sample', () => {
    // 61 samples down from 20 to -10 %: below 5 % first at the 32nd, 5 - 0.5; 30 samples later, at 0.3 s, it is off
    const down = ramp(20, -10, 61);
    expect(down.findIndex((value) => value < 5)).toBe(31);
    // back up at 0.5 % a sample: above 10 % first at the 42nd, and on 10 samples later
    const up = ramp(-10, 20, 61);
    expect(up.findIndex((value) => value > 10)).toBe(41);
    expect(fly([...down, ...up])).toBe('061 151 010');
  });

  it('does not change while noise crosses one threshold again and again, nor between the two', () => {
    const noise = Array.from({ length: 300 }, (_, i) => 5 + (i % 7 === 0 ? 1 : -1));
    expect(fly(noise)).toBe('0300');
    expect(fly([...steady(0, 40), ...ramp(0, 9.9, 200)])).toBe('030 1210');
  });

  it('counts the time over a gap in what can be told, but moves only where it can', () => {
    // true from sample 0; samples 20 to 39 cannot be told; 0.3 s are over by sample 40
    expect(fly([...steady(0, 20), ...steady(null, 20), ...steady(0, 5)])).toBe('040 15');
    // false at the end of the gap: it starts again
    expect(fly([...steady(0, 20), ...steady(null, 20), 7, ...steady(0, 40)])).toBe('071 110');
  });

  it('cannot be told once what could end it could not be for longer than it is believed, until it can be', () => {
    expect(fly([...steady(20, 3), ...steady(null, 70), ...steady(20, 4)])).toBe('054 x19 04');
  });

  it('is not known before what could end it has been told once', () => {
    expect(fly([...steady(null, 3), ...steady(20, 4)])).toBe('x3 04');
  });

  it('starts its times again when aircraft time steps back', () => {
    const stage = compileDerive(flight()).value;
    const run = (from: number, samples: number) => {
      const rows = Array.from({ length: samples }, (_, i) => ({ time: from + i * HUNDREDTH, values: [0, 0, 0, 0, 0] }));
      const batch = batchOf(0, [0, 1, 2, 3, 4], rows);
      stage?.run([batch]);
      return [...(batch.values[1] as Float64Array)];
    };
    expect(run(1e15, 25).includes(1)).toBe(false);
    expect(run(1e15 - 5e6, 40).indexOf(1)).toBe(30);
  });

  it('takes the first listed of two that are due, and one transition at a sample', () => {
    const of: PhaseMachine = {
      ...power,
      phases: [
        {
          id: 'a',
          name: 'A',
          transitions: [
            { to: 'b', when: 'PHASE.on.1', for: 0 },
            { to: 'c', when: 'PHASE.on.1', for: 0 },
          ],
        },
        { id: 'b', name: 'B', transitions: [{ to: 'c', when: 'PHASE.on.1', for: 0 }] },
        { id: 'c', name: 'C', transitions: [] },
      ],
    };
    const states = { 0: 'A', 1: 'B', 2: 'C' };
    const [, ...rest] = flight().derived;
    const alone = rest.map((one) => (one.id === 'IS_OFF' ? { ...one, formula: 'PHASE + 0' } : one));
    expect(fly([9, 0, 0, 0], flight(of, { derived: [derived('PHASE', 'main', '', { states }), ...alone] }))).toBe(
      '01 11 22',
    );
  });

  it('has a finding where a condition is not there or needs the phase itself', () => {
    const told = (of: ReturnType<typeof flight>) =>
      compileDerive(of).findings.map(({ code, found }) => `${code} ${found}`);
    const [phase, ...rest] = flight().derived;
    expect(told(flight(power, { derived: [phase as NonNullable<typeof phase>] }))).toEqual([
      'unknown-name phase condition PHASE.on.1',
    ]);
    const circle = rest.map((one) => (one.id === 'PHASE.on.1' ? { ...one, formula: 'IS_OFF' } : one));
    expect(told(flight(power, { derived: [phase as NonNullable<typeof phase>, ...circle] }))).toEqual([
      'formula-cycle PHASE needs PHASE.on.1 needs IS_OFF needs PHASE',
    ]);
  });

  it('is explained like any other derived parameter', () => {
    expect(explain(flight(), 'PHASE')).toContain('PHASE.on.1');
  });
});
