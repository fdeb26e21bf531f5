/**
 * The conversion stage against a slow, obvious twin: one sample at a time, objects, no shared code. Random counts,
 * random calibrations, random cuts, a save and restore somewhere in between.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Batch } from '../../protocol/batch.ts';
import { type BitField, codings, type CountFormat, formatBytes, type Parameter } from '../../protocol/parameter.ts';
import { type Counts, newCounts, RawGroup } from '../../protocol/raw.ts';
import { compileConvert } from '../../station/convert/convert.ts';
import { group, mission, parameter } from '../support/tiny-mission.ts';

/** Aircraft time of a sample, us. */
const timeOf = (i: number) => 1e9 + i * 10_000;

interface Judged {
  value: number;
  code: number;
}

/** The number in some bits of a word, read off its binary digits. */
function numberIn(word: number, wordBits: number, { shift, width, mask, coding }: BitField): number {
  const digits = word.toString(2).padStart(wordBits, '0');
  const field = digits.slice(wordBits - shift - width, wordBits - shift);
  const held = mask === undefined ? '' : mask.toString(2).padStart(width, '0');
  const kept = [...field].map((digit, i) => (held[i] === '0' ? '0' : digit)).join('');
  const number = Number.parseInt(kept, 2);
  if (coding === 'offset binary') return number - 2 ** (width - 1);
  return coding === "two's complement" && field.startsWith('1') ? number - 2 ** width : number;
}

/**
 * The cubic of Fritsch and Carlson as their paper tells it: secants, slopes from both sides, slopes shortened where the
 * pair of them would overshoot, and the cubic as the sum of powers of the way from the left point.
 */
function cubicAt(x: number, xs: number[], ys: number[]): number {
  const n = xs.length;
  const rise = (k: number) => ((ys[k + 1] as number) - (ys[k] as number)) / ((xs[k + 1] as number) - (xs[k] as number));
  const slopes = xs.map((_, k) => {
    if (k === 0 || k === n - 1) return rise(Math.min(k, n - 2));
    const isTurn = Math.sign(rise(k - 1)) * Math.sign(rise(k)) <= 0;
    return isTurn ? 0 : (rise(k - 1) + rise(k)) / 2;
  }) as number[];
  for (let k = 0; k < n - 1; k++) {
    if (rise(k) === 0) slopes[k] = slopes[k + 1] = 0;
    const [a, b] = [slopes[k] as number, slopes[k + 1] as number].map((slope) =>
      rise(k) === 0 ? 0 : slope / rise(k),
    ) as [number, number];
    if (a * a + b * b > 9) {
      const tau = 3 / Math.sqrt(a * a + b * b);
      slopes[k] = tau * a * rise(k);
      slopes[k + 1] = tau * b * rise(k);
    }
  }
  const [x0, xn, y0, yn] = [xs[0], xs[n - 1], ys[0], ys[n - 1]] as [number, number, number, number];
  if (x <= x0) return y0 + (slopes[0] as number) * (x - x0);
  if (x >= xn) return yn + (slopes[n - 1] as number) * (x - xn);
  const k = xs.findIndex((_, j) => x < (xs[j + 1] as number));
  const h = (xs[k + 1] as number) - (xs[k] as number);
  const s = x - (xs[k] as number);
  const [d0, d1] = [slopes[k], slopes[k + 1]] as [number, number];
  const c2 = (3 * rise(k) - 2 * d0 - d1) / h;
  const c3 = (d0 + d1 - 2 * rise(k)) / (h * h);
  return (ys[k] as number) + s * (d0 + s * (c2 + s * c3));
}

/** Straight from the words of the documentation. */
function slowly(of: Parameter, word: Parameter, all: number[]): Judged[] {
  const result: Judged[] = [];
  let same = 0;
  const { calibration } = of;
  const field = calibration.kind === 'bits' ? calibration : of.bits;
  const counts = field ? all.map((x) => numberIn(x, formatBytes[word.format ?? 'u8'] * 8, field)) : all;
  let before: { value: number; time: number } | undefined;
  counts.forEach((x, i) => {
    same = i > 0 && counts[i - 1] === x ? same + 1 : 1;
    let value: number;
    let calibrated = true;
    let known = true;
    if (calibration.kind === 'polynomial') {
      value = calibration.coefficients.reduceRight((sum, c) => c + x * sum);
      calibrated = x >= (calibration.from ?? -Infinity) && x <= (calibration.to ?? Infinity);
    } else if (calibration.kind === 'table') {
      const { counts: xs, values: ys, curve } = calibration;
      calibrated = x >= (xs[0] as number) && x <= (xs.at(-1) as number);
      let k = xs.findIndex((at, j) => j < xs.length - 1 && x >= at && x < (xs[j + 1] as number));
      if (k < 0) k = x < (xs[0] as number) ? 0 : xs.length - 2;
      const [x0, x1, y0, y1] = [xs[k], xs[k + 1], ys[k], ys[k + 1]] as [number, number, number, number];
      value = curve ? cubicAt(x, xs, ys) : y0 + (x - x0) * ((y1 - y0) / (x1 - x0));
    } else if (calibration.kind === 'states') {
      value = x;
      known = String(x) in calibration.states;
    } else {
      value = x;
      known = !calibration.states || String(value) in calibration.states;
    }
    const [low, high] = of.physicalRange ?? [-Infinity, Infinity];
    let code = 0;
    if (of.frozenAfter && same >= of.frozenAfter) code = 12;
    else if (!Number.isFinite(value) || !Number.isFinite(x) || value < low || value > high || !known) code = 13;
    else if (!calibrated) code = 2;
    if (code < 8) {
      const now = { value, time: timeOf(i) };
      const fastest = of.plausible?.fastest ?? Infinity;
      if (before && Math.abs(value - before.value) > fastest * ((now.time - before.time) / 1e6)) code = 14;
      before = now;
    }
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
    plausible: fc.option(fc.record({ fastest: fc.constantFrom(100, 10_000) }), { nil: undefined }),
  });
});

const word = fc.constantFrom<CountFormat>('u8', 'u16', 'u32').chain((format) =>
  fc.record({
    format: fc.constant(format),
    bits: fc
      .integer({ min: 0, max: formatBytes[format] * 8 - 1 })
      .chain((shift) =>
        fc.record({ shift: fc.constant(shift), width: fc.integer({ min: 1, max: formatBytes[format] * 8 - shift }) }),
      )
      .chain(({ shift, width }) =>
        fc.oneof(
          fc.record({ shift: fc.constant(shift), width: fc.constant(width), coding: fc.constantFrom(...codings) }),
          fc.record({
            shift: fc.constant(shift),
            width: fc.constant(width),
            mask: fc.integer({ min: 1, max: 2 ** width - 1 }),
          }),
        ),
      ),
    states: fc.option(fc.constant({ '0': 'up', '1': 'down', '-1': 'away' }), { nil: undefined }),
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
    for (let i = begin; i < end; i++) {
      (raw.counts[0] as Counts)[i - begin] = counts[i] as number;
      raw.time[i - begin] = timeOf(i);
    }
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
        fc.option(fc.integer({ min: 2, max: 7 }), { nil: undefined }),
        ([w, counts, cuts], frozenAfter) => {
          const carrier = parameter('W', 'g', { format: w.format });
          const of = parameter('BIT', 'g', {
            format: undefined,
            calibration: { kind: 'bits', word: 'W', ...w.bits, states: w.states },
            frozenAfter,
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

  it('calibrates the number in some bits, of its own word or of another', () => {
    const rule = fc.constantFrom<Parameter['calibration']>(
      { kind: 'polynomial', coefficients: [-3, 0.5, 0.001], from: -100, to: 100 },
      { kind: 'table', counts: [-64, 0, 1000], values: [5, 1, 90] },
      { kind: 'states', states: { '0': 'off', '1': 'on', '-1': 'failed' } },
    );
    fc.assert(
      fc.property(
        word.chain((w) => fc.tuple(fc.constant(w), countsOf(w.format), fc.array(fc.nat(300), { maxLength: 3 }))),
        rule,
        fc.boolean(),
        fc.option(fc.integer({ min: 2, max: 7 }), { nil: undefined }),
        ([w, counts, cuts], calibration, isOwn, frozenAfter) => {
          const carrier = parameter('W', 'g', { format: w.format });
          const of = isOwn
            ? parameter('P', 'g', { format: w.format, bits: w.bits, calibration, frozenAfter })
            : parameter('P', 'g', { format: undefined, bits: { ...w.bits, word: 'W' }, calibration, frozenAfter });
          const exact = newCounts(w.format, counts.length);
          exact.set(counts);
          const expected = slowly(of, carrier, [...exact]);
          expect(fast(of, isOwn ? of : carrier, counts, cuts)).toEqual(expected);
        },
      ),
      { seed: 13, numRuns: 400 },
    );
  });

  const points = fc
    .uniqueArray(fc.integer({ min: -30_000, max: 30_000 }), { minLength: 2, maxLength: 9 })
    .chain((counts) =>
      fc
        .array(fc.oneof(fc.integer({ min: -3, max: 3 }), fc.double({ min: -500, max: 500, noNaN: true })), {
          minLength: counts.length,
          maxLength: counts.length,
        })
        .map((values) => ({ counts: counts.sort((a, b) => a - b), values })),
    );

  it('draws the monotone cubic through the points, as its slow twin does, and never beyond two neighbours', () => {
    fc.assert(
      fc.property(points, countsOf('i16'), fc.array(fc.nat(300), { maxLength: 2 }), ({ counts, values }, xs, cuts) => {
        const of = parameter('P', 'g', { calibration: { kind: 'table', counts, values, curve: 'monotone cubic' } });
        const asked = [...xs, ...counts];
        const told = fast(of, of, asked, cuts);
        const size = Math.max(...values.map(Math.abs), 1);
        asked.forEach((x, i) => {
          const { value, code } = told[i] as Judged;
          const at = counts.indexOf(x);
          if (at >= 0) expect(Math.abs(value - (values[at] as number))).toBe(0);
          expect(Math.abs(value - cubicAt(x, counts, values))).toBeLessThan(1e-9 * Math.max(size, Math.abs(value)));
          const isInside = x >= (counts[0] as number) && x <= (counts.at(-1) as number);
          expect(code).toBe(isInside ? 0 : 2);
          const right = isInside
            ? Math.max(
                1,
                counts.findIndex((end) => x <= end),
              )
            : -1;
          if (right < 0) return;
          const [y0, y1] = [values[right - 1], values[right]] as [number, number];
          expect(value).toBeGreaterThanOrEqual(Math.min(y0, y1) - 1e-12 * size);
          expect(value).toBeLessThanOrEqual(Math.max(y0, y1) + 1e-12 * size);
        });
      }),
      { seed: 14, numRuns: 500 },
    );
  });

  it('rises where the points rise, everywhere between them', () => {
    fc.assert(
      fc.property(points, ({ counts, values }) => {
        const rising = [...values].sort((a, b) => a - b);
        const of = parameter('P', 'g', {
          calibration: { kind: 'table', counts, values: rising, curve: 'monotone cubic' },
        });
        const [from, to] = [counts[0] as number, counts.at(-1) as number];
        const step = Math.max(1, Math.floor((to - from) / 500));
        const asked = Array.from({ length: Math.floor((to - from) / step) + 1 }, (_, i) => from + i * step);
        const told = fast(of, of, asked, []).map(({ value }) => value);
        const slack = 1e-12 * Math.max(...rising.map(Math.abs), 1);
        told.forEach((value, i) => {
          if (i > 0) expect(value).toBeGreaterThanOrEqual((told[i - 1] as number) - slack);
        });
      }),
      { seed: 15, numRuns: 200 },
    );
  });

  it('reads a 12-bit number with a sign in a 16-bit word, whatever stands in the other bits', () => {
    const twelve = (coding: BitField['coding'], shift = 0) =>
      parameter('P', 'g', { format: 'u16', bits: { shift, width: 12, coding } });
    const read = (of: Parameter, counts: number[]) => fast(of, of, counts, []).map(({ value }) => value);
    expect(read(twelve("two's complement"), [0x0000, 0x07ff, 0x0800, 0xffff, 0xf800])).toEqual([
      0, 2047, -2048, -1, -2048,
    ]);
    expect(read(twelve('offset binary'), [0x0000, 0x0800, 0x0fff, 0xf800])).toEqual([-2048, 0, 2047, 0]);
    expect(read(twelve(undefined, 4), [0xfff0, 0x001f])).toEqual([4095, 1]);
  });

  it('lets a wrong rate of the group go before all that a value can tell', () => {
    const of = parameter('P', 'g', { physicalRange: [0, 10], frozenAfter: 2 });
    const { value: convert } = compileConvert(mission({ groups: [group('g', 100)], parameters: [of] }));
    const raw = new RawGroup(['i16']);
    (raw.counts[0] as Counts).set([5, 5, 50]);
    raw.length = 3;
    const batches: (Batch | undefined)[] = [];
    convert?.run([raw], batches, Uint8Array.of(1));
    const [batch] = batches as [Batch];
    expect([...(batch.validity[0] as Uint8Array).subarray(0, 3)]).toEqual([10, 10, 10]);
    expect([batch.low[0], batch.high[0], batch.worst[0]]).toEqual([Infinity, -Infinity, 10]);
    convert?.run([raw], batches, Uint8Array.of(0));
    expect([...(batch.validity[0] as Uint8Array).subarray(0, 3)]).toEqual([0, 12, 13]);
  });
});
