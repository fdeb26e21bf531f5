/**
 * The stress load as entries: 1,000 parameters at 1,000 samples a second in frames of 20 ms, 100 derived parameters and
 * 2,000 limits. Signals wander inside their limits; one in a hundred crosses now and then.
 */
import type { FrameEntry } from '../../protocol/entry.ts';
import type { Limit } from '../../protocol/limit.ts';
import { groundTime } from '../../protocol/time.ts';
import { encodeEnvelope, encodeFrame } from '../../protocol/wire.ts';
import { seconds } from './measure.ts';
import { derived, group, levelLimit, mission, parameter } from '../support/tiny-mission.ts';

export const PARAMETERS = 1000;
export const RATE = 1000;
const FRAME_US = 20_000;
const SAMPLES = (RATE * FRAME_US) / 1e6;

const calibrations = [
  { kind: 'polynomial' as const, coefficients: [0, 0.01] },
  { kind: 'polynomial' as const, coefficients: [-5, 0.02, 1e-7] },
  { kind: 'polynomial' as const, coefficients: [1, 0.01, -2e-8, 1e-12] },
  { kind: 'table' as const, counts: [-32768, -8000, 0, 8000, 32767], values: [-320, -90, 0, 75, 330] },
];

const ids = Array.from({ length: PARAMETERS }, (_, i) => `P${i}`);

const limits: Limit[] = ids.flatMap((id) => [
  levelLimit(`${id}-high`, id, { above: { caution: 120, warning: 150 }, persistence: 500_000, hysteresis: 2 }),
  levelLimit(`${id}-low`, id, { below: { caution: -120, warning: -150 }, persistence: 500_000, hysteresis: 2 }),
]);

export const stressMission = mission({
  baselineId: 'stress',
  groups: [group('all', RATE)],
  parameters: ids.map((id, i) =>
    parameter(id, 'all', {
      calibration: calibrations[i % calibrations.length] as (typeof calibrations)[number],
      physicalRange: [-1000, 1000],
    }),
  ),
  derived: Array.from({ length: PARAMETERS / 10 }, (_, i) => {
    const [a, b, c] = [ids[i * 10], ids[i * 10 + 3], ids[i * 10 + 7]];
    return derived(`D${i}`, a as string, `(${a} - ${b}) * 0.5 + ${c} * ${c} / 100`);
  }),
  limits,
});

/** Frame entries of `seconds` of flight from `startUs` on; repeatable. */
export function stressFrames(seconds: number, startUs: number): FrameEntry[] {
  const frames = Math.round((seconds * 1e6) / FRAME_US);
  let state = 12345;
  const chance = () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
  const level = Float64Array.from({ length: PARAMETERS }, () => (chance() - 0.5) * 4000);
  const entries: FrameEntry[] = [];
  for (let f = 0; f < frames; f++) {
    const column = new Int16Array(PARAMETERS * SAMPLES);
    for (let p = 0; p < PARAMETERS; p++) {
      const crossing = p % 100 === 5 && f % 100 > 40 && f % 100 < 80 ? 10_000 : 0;
      for (let i = 0; i < SAMPLES; i++) {
        level[p] = (level[p] as number) * 0.999 + (chance() - 0.5) * 20;
        column[p * SAMPLES + i] = Math.round((level[p] as number) + crossing);
      }
    }
    const time = startUs + f * FRAME_US;
    const frame = encodeFrame({
      stream: stressMission.stream,
      frameCounter: f,
      timeUs: time,
      softwareId: 'S1',
      configurationId: 'C1',
      groups: [{ group: 0, samples: SAMPLES, offsetUs: 0, columns: new Uint8Array(column.buffer) }],
    });
    const bytes = encodeEnvelope('North', 60_000, frame);
    entries.push({ kind: 'frame', ground: groundTime(time + 15_000), input: 'bench', bytes });
  }
  return entries;
}

/** The copy limit of the same number of samples: int16 columns of 1,000 samples into float64 columns. */
export function copyLimit(samples: number): number {
  const from = Array.from({ length: PARAMETERS }, (_, p) => Int16Array.from({ length: RATE }, (_, i) => i * 3 + p));
  const to = from.map(() => new Float64Array(RATE));
  const times = Math.round(samples / (PARAMETERS * RATE));
  const spent = seconds(() => {
    for (let t = 0; t < times; t++) {
      for (let p = 0; p < PARAMETERS; p++) {
        const source = from[p] as Int16Array;
        const target = to[p] as Float64Array;
        for (let i = 0; i < RATE; i++) target[i] = source[i] as number;
      }
    }
  });
  return (times * PARAMETERS * RATE) / spent;
}
