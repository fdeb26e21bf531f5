/** Runs one measure over made-up samples, cut at random, its state carried over into a new one now and then. */
import type { Measuring, MeasureContext, MeasureOutput } from '../../station/check/measured.ts';
import { Validity } from '../../protocol/validity.ts';
import { group, mission, parameter } from './tiny-mission.ts';

export interface MeasureSample {
  /** aircraft time, microseconds */
  time: number;
  /** what each input is; `code` for a certain validity code, else not usable ones get that of a lost link */
  inputs: readonly { value: number; usable: boolean; code?: number }[];
  /** code of gate.ts; absent in the first sample = no gate */
  gate?: number;
}

export interface Told {
  /** NaN where it cannot be told */
  value: number;
  detail: string;
  reference: number;
}

/** Fails the test on a finding. `rate` of the group; parameters are A, B, C, ... of the pure unit. */
export function measureContext(rate = 100): MeasureContext {
  const of = group('main', rate);
  return {
    mission: mission({
      groups: [of],
      parameters: [...'ABCDEFGH', 'TOT', 'TQ'].map((id) => parameter(id, 'main')),
    }),
    group: of,
    finding: (code, found, expected) => {
      throw new Error(`${code}: ${found}, expected ${expected}`);
    },
  };
}

export function runMeasure(
  make: (context: MeasureContext) => Measuring | undefined,
  samples: readonly MeasureSample[],
  seed: number,
  rate = 100,
): { told: Told[]; last: Measuring } {
  let state = seed >>> 0 || 1;
  const chance = () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
  const context = measureContext(rate);
  let measuring = make(context) as Measuring;
  const told: Told[] = [];
  const gated = samples[0]?.gate !== undefined;
  for (let from = 0; from < samples.length; ) {
    const length = Math.min(samples.length - from, 1 + Math.floor(chance() ** 3 * 200));
    const part = samples.slice(from, from + length);
    const out: MeasureOutput = {
      values: new Float64Array(length).fill(Number.NaN),
      validity: new Uint8Array(length),
      reference: new Float64Array(length),
      which: new Uint8Array(length),
    };
    const inputs = measuring.inputs.map((_, k) => ({
      values: Float64Array.from(part, (sample) => sample.inputs[k]?.value ?? Number.NaN),
      validity: Uint8Array.from(part, (sample) => {
        const input = sample.inputs[k];
        return input?.code ?? (input?.usable ? Validity.good : Validity.link);
      }),
    }));
    const gate = gated ? Uint8Array.from(part, (sample) => sample.gate as number) : undefined;
    measuring.measure.run({ time: Float64Array.from(part, ({ time }) => time), length, gate }, inputs, out);
    for (let i = 0; i < length; i++) {
      const usable = (out.validity[i] as number) < Validity.link;
      told.push({
        value: usable ? (out.values[i] as number) : Number.NaN,
        detail: measuring.names?.[out.which[i] as number] ?? '',
        reference: out.reference[i] as number,
      });
    }
    if (chance() < 0.2) {
      const saved = structuredClone(measuring.measure.save());
      measuring = make(context) as Measuring;
      measuring.measure.restore(saved);
    }
    from += length;
  }
  return { told, last: measuring };
}
