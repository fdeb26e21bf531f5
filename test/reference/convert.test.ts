/**
 * The conversion stage against a slow, obvious twin: one sample at a time, objects, no shared code. Random counts,
 * random calibrations, random cuts, a save and restore somewhere in between.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Batch } from '../../protocol/batch.ts';
import { type CountFormat, formatBytes, type Parameter } from '../../protocol/parameter.ts';
import { type Counts, newCounts, RawGroup } from '../../protocol/raw.ts';
import { compileConvert } from '../../station/convert/convert.ts';
import { group, mission, parameter } from '../support/tiny-mission.ts';

interface Judged {
  value: number;
  code: number;
}

/** Straight from the words of the documentation. */
function slowly(of: Parameter, word: Parameter, counts: number[]): Judged[] {
  const result: Judged[] = [];
  let same = 0;
  counts.forEach((x, i) => {
    same = i > 0 && counts[i - 1] === x ? same + 1 : 1;
    const { calibration } = of;
    let value: number;
    let calibrated = true;
    let known = true;
    if (calibration.kind === 'polynomial') {
      value = calibration.coefficients.reduceRight((sum, c) => c + x * sum);
      calibrated = x >= (calibration.from ?? -Infinity) && x <= (calibration.to ?? Infinity);
    } else if (calibration.kind === 'table') {
      const { counts: xs, values: ys } = calibration;
      calibrated = x >= (xs[0] as number) && x <= (xs.at(-1) as number);
      let k = xs.findIndex((at, j) => j < xs.length - 1 && x >= at && x < (xs[j + 1] as number));
      if (k < 0) k = x < (xs[0] as number) ? 0 : xs.length - 2;
      const [x0, x1, y0, y1] = [xs[k], xs[k + 1], ys[k], ys[k + 1]] as [number, number, number, number];
      value = y0 + (x - x0) * ((y1 - y0) / (x1 - x0));
    } else if (calibration.kind === 'states') {
      value = x;
      known = String(x) in calibration.states;
    } else {
      const bits = formatBytes[word.format ?? 'u8'] * 8;
      const text = x.toString(2).padStart(bits, '0');
      const from = bits - calibration.shift - calibration.width;
      value = Number.parseInt(text.slice(from, from + calibration.width), 2);
      known = !calibration.states || String(value) in calibration.states;
    }
    const [low, high] = of.physicalRange ?? [-Infinity, Infinity];
    let code = 0;
    if (of.frozenAfter && same >= of.frozenAfter) code = 12;
    else if (!Number.isFinite(value) || !Number.isFinite(x) || value < low || value > high || !known) code = 13;
    else if (!calibrated) code = 2;
    result.push({ value, code });
  });
  return result;
}

const bounds: Record<CountFormat, [number, number]> = {
  u8: [0, 255],
  i8: [-128, 127],
  u16: [0, 65535],
  i16: [-32768, 32767],
  u32: [0, 2 ** 32 - 1],
  i32: [-(2 ** 31), 2 ** 31 - 1],
  f32: [-1000, 1000],
  f64: [-1000, 1000],
};

const integers: CountFormat[] = ['u8', 'i8', 'u16', 'i16', 'u32', 'i32'];

const calibrated = fc.constantFrom<CountFormat>(...integers, 'f32', 'f64').chain((format) => {
  const span = bounds[format];
  const count = fc.integer({ min: span[0], max: span[1] });
  return fc.record({
    format: fc.constant(format),
    calibration: fc.oneof(
      fc.record({
        kind: fc.constant('polynomial' as const),
        coefficients: fc.array(fc.double({ min: -3, max: 3, noNaN: true }), { minLength: 1, maxLength: 6 }),
        from: fc.constant(span[0] * 0.9),
        to: fc.constant(span[1] * 0.9),
      }),
      fc.uniqueArray(count, { minLength: 2, maxLength: 8 }).chain((counts) =>
        fc
          .array(fc.double({ min: -500, max: 500, noNaN: true }), {
            minLength: counts.length,
            maxLength: counts.length,
          })
          .map((values) => ({ kind: 'table' as const, counts: counts.sort((a, b) => a - b), values })),
      ),
      fc.constant({ kind: 'states' as const, states: { '0': 'off', '1': 'on', '3': 'half' } }),
    ),
    physicalRange: fc.option(fc.constant<[number, number]>([-200, 300]), { nil: undefined }),
    frozenAfter: fc.option(fc.integer({ min: 2, max: 7 }), { nil: undefined }),
  });
});

const word = fc.constantFrom<CountFormat>('u8', 'u16', 'u32').chain((format) =>
  fc.record({
    format: fc.constant(format),
    bits: fc
      .integer({ min: 0, max: formatBytes[format] * 8 - 1 })
      .chain((shift) =>
        fc.record({ shift: fc.constant(shift), width: fc.integer({ min: 1, max: formatBytes[format] * 8 - shift }) }),
      ),
    states: fc.option(fc.constant({ '0': 'up', '1': 'down' }), { nil: undefined }),
  }),
);

/** Counts with runs, small steps and wild ones, so that every rule is met. */
const countsOf = (format: CountFormat) =>
  fc
    .array(
      fc.tuple(
        fc.oneof(
          fc.integer({ min: bounds[format][0], max: bounds[format][1] }),
          fc.integer({ min: Math.max(bounds[format][0], -4), max: 4 }),
          ...(format.startsWith('f') ? [fc.constantFrom(Number.NaN, Infinity, -Infinity, 0.5)] : []),
        ),
        fc.integer({ min: 1, max: 9 }),
      ),
      { minLength: 1, maxLength: 30 },
    )
    .map((runs) => runs.flatMap(([x, times]) => Array<number>(times).fill(x)));

function fast(of: Parameter, carrier: Parameter, counts: number[], cuts: number[]): Judged[] {
  const parameters = of === carrier ? [of] : [carrier, of];
  const compiled = compileConvert(mission({ groups: [group('g', 100)], parameters }));
  if (!compiled.value) throw new Error(JSON.stringify(compiled.findings));
  let convert = compiled.value;
  const result: Judged[] = [];
  const batches: (Batch | undefined)[] = [];
  const raw = new RawGroup([carrier.format as CountFormat]);
  const ends = [...new Set([...cuts.map((cut) => cut % counts.length), counts.length])].sort((a, b) => a - b);
  let begin = 0;
  for (const end of ends) {
    if (end === begin) continue;
    raw.clear();
    raw.reserve(end - begin);
    for (let i = begin; i < end; i++) (raw.counts[0] as Counts)[i - begin] = counts[i] as number;
    raw.length = end - begin;
    convert.run([raw], batches, new Uint8Array(1));
    const batch = batches[0] as Batch;
    const place = parameters.indexOf(of);
    const codes = [...(batch.validity[place] as Uint8Array).subarray(0, batch.length)];
    const values = [...(batch.values[place] as Float64Array).subarray(0, batch.length)];
    const usable = values.filter((_, i) => (codes[i] as number) < 8);
    expect(batch.low[place]).toBe(Math.min(...usable));
    expect(batch.high[place]).toBe(Math.max(...usable));
    expect(batch.worst[place]).toBe(Math.max(...codes));
    values.forEach((value, i) => {
      result.push({ value, code: codes[i] as number });
    });
    const again = compileConvert(mission({ groups: [group('g', 100)], parameters })).value;
    again?.restore(structuredClone(convert.save()));
    if (again) convert = again;
    begin = end;
  }
  return result;
}

describe('conversion against its slow twin', () => {
  it('gives the same values and codes for any calibration, counts and cuts', () => {
    fc.assert(
      fc.property(
        calibrated.chain((c) => fc.tuple(fc.constant(c), countsOf(c.format), fc.array(fc.nat(300), { maxLength: 6 }))),
        ([settings, counts, cuts]) => {
          const of = parameter('P', 'g', settings as Partial<Parameter>);
          const exact = newCounts(settings.format, counts.length);
          exact.set(counts);
          const expected = slowly(of, of, [...exact]);
          const actual = fast(of, of, counts, cuts);
          expect(actual.map((j) => j.code)).toEqual(expected.map((j) => j.code));
          expect(actual.map((j) => j.value)).toEqual(expected.map((j) => j.value));
        },
      ),
      { seed: 11, numRuns: 800 },
    );
  });

  it('takes bits out of a word as binary text shows them', () => {
    fc.assert(
      fc.property(
        word.chain((w) => fc.tuple(fc.constant(w), countsOf(w.format), fc.array(fc.nat(300), { maxLength: 3 }))),
        ([w, counts, cuts]) => {
          const carrier = parameter('W', 'g', { format: w.format });
          const of = parameter('BIT', 'g', {
            format: undefined,
            calibration: { kind: 'bits', word: 'W', ...w.bits, states: w.states },
          });
          const exact = newCounts(w.format, counts.length);
          exact.set(counts);
          const expected = slowly(of, carrier, [...exact]);
          expect(fast(of, carrier, counts, cuts)).toEqual(expected);
        },
      ),
      { seed: 12, numRuns: 400 },
    );
  });
});
