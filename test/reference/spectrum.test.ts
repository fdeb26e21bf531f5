/** Spectra against slow twins: the transform by its definition, averages by one segment after the other. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { coherenceOf, Fourier, noiseBandwidth, spectrumOf, windowOf } from '../../station/compute/spectrum.ts';

const real = fc.integer({ min: -1000, max: 1000 }).map((n) => n / 500);
const lengths = fc.constantFrom(1, 2, 4, 8, 16, 64);
const windows = fc.constantFrom('rectangular', 'hann', 'hamming', 'blackman', 'flat top' as const);

type Complex = readonly [re: number, im: number];

function slowTransform(values: readonly Complex[]): Complex[] {
  const size = values.length;
  return values.map((_, k) =>
    values.reduce<Complex>(
      ([re, im], [x, y], n) => {
        const angle = (-2 * Math.PI * k * n) / size;
        const [c, s] = [Math.cos(angle), Math.sin(angle)];
        return [re + x * c - y * s, im + x * s + y * c];
      },
      [0, 0],
    ),
  );
}

/** Transforms of the windowed segments without their means. */
function slowSegments(values: readonly number[], segment: number, window: ArrayLike<number>): Complex[][] {
  const result: Complex[][] = [];
  for (let from = 0; from + segment <= values.length; from += segment / 2) {
    const cut = values.slice(from, from + segment);
    const mean = cut.reduce((sum, x) => sum + x, 0) / segment;
    result.push(slowTransform(cut.map((x, i): Complex => [(x - mean) * (window[i] as number), 0])));
  }
  return result;
}

describe('the Fourier transform against its slow twin', () => {
  it('is the sum of its definition', () => {
    fc.assert(
      fc.property(
        lengths.chain((size) => fc.array(fc.tuple(real, real), { minLength: size, maxLength: size })),
        (values) => {
          const re = Float64Array.from(values, ([x]) => x);
          const im = Float64Array.from(values, ([, y]) => y);
          new Fourier(values.length).run(re, im);
          slowTransform(values).forEach(([x, y], k) => {
            expect(re[k]).toBeCloseTo(x, 9);
            expect(im[k]).toBeCloseTo(y, 9);
          });
        },
      ),
      { seed: 801, numRuns: 200 },
    );
  });

  it.each([0, 3, 12, 0.5, -4, Number.NaN])('is none of %f samples', (length) => {
    expect(() => new Fourier(length)).toThrow('no power of two');
  });
});

describe('averaged spectra against their slow twins', () => {
  it('have the power, density and coherence of the mean of all segments', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(8, 16),
        windows,
        fc.array(fc.tuple(real, real), { minLength: 16, maxLength: 60 }),
        fc.constantFrom(1, 100, 48.5),
        (segment, window, pairs, rate) => {
          const [x, y] = [pairs.map(([a]) => a), pairs.map(([, b]) => b)];
          const shape = windowOf(window, segment);
          const [a, b] = [slowSegments(x, segment, shape), slowSegments(y, segment, shape)];
          const settings = { rate, segment, window };
          const found = spectrumOf(Float64Array.from(x), settings);
          const coherence = coherenceOf(Float64Array.from(x), Float64Array.from(y), settings);
          expect(found.segments).toBe(a.length);
          expect(found.step).toBe(rate / segment);
          expect(found.power.length).toBe(segment / 2 + 1);
          const gain = shape.reduce((sum, w) => sum + w, 0);
          const squares = shape.reduce((sum, w) => sum + w * w, 0);
          expect(noiseBandwidth(shape)).toBeCloseTo((segment * squares) / gain ** 2, 9);
          for (let k = 0; k <= segment / 2; k++) {
            const [first, second] = [a, b].map((list) => list.map((one) => one[k] as Complex)) as [
              Complex[],
              Complex[],
            ];
            const mean = (of: (i: number) => number) => first.reduce((sum, _, i) => sum + of(i), 0) / first.length;
            const square = (list: Complex[]) => mean((i) => (list[i]?.[0] ?? 0) ** 2 + (list[i]?.[1] ?? 0) ** 2);
            const sides = k === 0 || k === segment / 2 ? 1 : 2;
            expect(found.power[k]).toBeCloseTo((sides * square(first)) / gain ** 2, 9);
            expect(found.density[k]).toBeCloseTo((sides * square(first)) / (rate * squares), 9);
            const product = square(first) * square(second);
            if (product < 1e-12) continue;
            const cross = (of: (p: Complex, q: Complex) => number) =>
              mean((i) => of(first[i] as Complex, second[i] as Complex));
            const re = cross(([p, q], [u, v]) => p * u + q * v);
            const im = cross(([p, q], [u, v]) => q * u - p * v);
            expect(coherence[k]).toBeCloseTo((re * re + im * im) / product, 6);
          }
        },
      ),
      { seed: 802, numRuns: 150 },
    );
  });

  it('say nothing of fewer samples than a segment, nor of a signal that is not there', () => {
    const settings = { rate: 10, segment: 8, window: 'hann' } as const;
    const short = spectrumOf(new Float64Array(7), settings);
    expect(short.segments).toBe(0);
    expect(short.power.every(Number.isNaN)).toBe(true);
    const wave = Float64Array.from({ length: 32 }, (_, i) => Math.sin(i));
    expect(coherenceOf(wave, new Float64Array(32), settings).every(Number.isNaN)).toBe(true);
  });
});
