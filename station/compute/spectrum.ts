/**
 * Spectra of sampled signals: windows, the discrete Fourier transform, averages over segments (P. D. Welch, 1967). Powers
 * are one-sided: a sine of amplitude A has A^2 / 2 in all.
 */

/** Cosine series a0 - a1 cos x + a2 cos 2 x - ... of each window. */
const series = {
  rectangular: [1],
  hann: [0.5, 0.5],
  hamming: [0.54, 0.46],
  blackman: [0.42, 0.5, 0.08],
  /** D'Antona and Ferrero: an amplitude is right between two lines as well */
  'flat top': [0.21557895, 0.41663158, 0.277263158, 0.083578947, 0.006947368],
} as const satisfies Record<string, readonly number[]>;

export type WindowName = keyof typeof series;

/**
 * A periodic window of this length: as if it went on. Source: F. J. Harris, Proc. IEEE 66 (1978), coefficients from memory;
 * their gains and bandwidths are among the check values.
 */
export function windowOf(name: WindowName, length: number): Float64Array {
  const terms = series[name];
  return Float64Array.from({ length }, (_, i) =>
    terms.reduce((sum, a, k) => sum + (k % 2 === 0 ? a : -a) * Math.cos((2 * Math.PI * k * i) / length), 0),
  );
}

/** Mean of a window: what it leaves of the amplitude of a sine on a line. */
export const coherentGain = (window: Float64Array): number => window.reduce((sum, w) => sum + w, 0) / window.length;

/** Width, in lines, of the rectangle that passes as much white noise: n sum(w^2) / (sum w)^2; 1 for no window. */
export function noiseBandwidth(window: Float64Array): number {
  const squares = window.reduce((sum, w) => sum + w * w, 0);
  return squares / (window.length * coherentGain(window) ** 2);
}

/** Discrete Fourier transform of a fixed length, a power of two: X[k] = sum x[n] e^(-2 pi j k n / N). */
export class Fourier {
  readonly length: number;
  private readonly cosine: Float64Array;
  private readonly sine: Float64Array;

  constructor(length: number) {
    if (!(length >= 1 && Number.isInteger(Math.log2(length)))) throw new Error(`${length} is no power of two`);
    this.length = length;
    // a quarter of a turn has no cosine, not even what rounding leaves
    const angle = (k: number) => (-2 * Math.PI * k) / length;
    this.cosine = Float64Array.from({ length: length / 2 }, (_, k) => (4 * k === length ? 0 : Math.cos(angle(k))));
    this.sine = Float64Array.from({ length: length / 2 }, (_, k) => Math.sin(angle(k)));
  }

  /** In place. Radix 2, decimation in time (J. W. Cooley, J. W. Tukey, 1965). */
  run(re: Float64Array, im: Float64Array): void {
    this.sort(re, im);
    const { length, cosine, sine } = this;
    for (let half = 1; half < length; half *= 2) {
      const step = length / (2 * half);
      for (let from = 0; from < length; from += 2 * half) {
        for (let k = 0; k < half; k++) {
          const [a, b] = [from + k, from + k + half];
          const [c, s] = [cosine[k * step] as number, sine[k * step] as number];
          const x = (re[b] as number) * c - (im[b] as number) * s;
          const y = (re[b] as number) * s + (im[b] as number) * c;
          re[b] = (re[a] as number) - x;
          im[b] = (im[a] as number) - y;
          re[a] = (re[a] as number) + x;
          im[a] = (im[a] as number) + y;
        }
      }
    }
  }

  /** Each value to the place whose number has its bits in reverse. */
  private sort(re: Float64Array, im: Float64Array): void {
    for (let i = 1, j = 0; i < this.length; i++) {
      let bit = this.length >> 1;
      for (; j & bit; bit >>= 1) j ^= bit;
      j ^= bit;
      if (i >= j) continue;
      [re[i], re[j]] = [re[j] as number, re[i] as number];
      [im[i], im[j]] = [im[j] as number, im[i] as number];
    }
  }
}

export interface SpectrumSettings {
  /** samples a second */
  rate: number;
  /** samples of a segment, a power of two; segments overlap by half, and each loses its mean */
  segment: number;
  window: WindowName;
}

/** One slot a line, from 0 Hz to half the rate. */
export interface Spectrum {
  /** Hz from one line to the next */
  step: number;
  /** segments averaged */
  segments: number;
  /** unit^2: of a sine on a line, A^2 / 2 */
  power: Float64Array;
  /** unit^2/Hz: its area is the mean square */
  density: Float64Array;
}

/** Averages over the segments of one signal. No segment, no spectrum: all NaN. */
export function spectrumOf(values: Float64Array, settings: SpectrumSettings): Spectrum {
  const { xx, segments, window } = crossSums(values, values, settings);
  const { rate, segment } = settings;
  const power = xx.map((sum, k) => {
    // the lines between 0 and half the rate stand for their mirror images too
    const sides = k === 0 || k === segment / 2 ? 1 : 2;
    return (sides * sum) / segments / (segment * coherentGain(window)) ** 2;
  });
  const step = rate / segment;
  return { step, segments, power, density: power.map((one) => one / (noiseBandwidth(window) * step)) };
}

/**
 * Magnitude-squared coherence of two signals of one length at each line, 0 to 1; NaN where one has no power. Of one segment
 * alone it is 1 and says nothing.
 */
export function coherenceOf(x: Float64Array, y: Float64Array, settings: SpectrumSettings): Float64Array {
  const { xx, yy, re, im } = crossSums(x, y, settings);
  return xx.map((power, k) => {
    const product = power * (yy[k] as number);
    return product > 0 ? ((re[k] as number) ** 2 + (im[k] as number) ** 2) / product : Number.NaN;
  });
}

interface CrossSums {
  xx: Float64Array;
  yy: Float64Array;
  re: Float64Array;
  im: Float64Array;
  segments: number;
  window: Float64Array;
}

function crossSums(x: Float64Array, y: Float64Array, { segment, window: name }: SpectrumSettings): CrossSums {
  const fourier = new Fourier(segment);
  const window = windowOf(name, segment);
  const lines = segment / 2 + 1;
  const sums = Array.from({ length: 4 }, () => new Float64Array(lines));
  const [xx, yy, re, im] = sums as [Float64Array, Float64Array, Float64Array, Float64Array];
  const part = (values: Float64Array, from: number): [Float64Array, Float64Array] => {
    const cut = values.slice(from, from + segment);
    const mean = cut.reduce((sum, value) => sum + value, 0) / segment;
    const real = cut.map((value, i) => (value - mean) * (window[i] as number));
    const imaginary = new Float64Array(segment);
    fourier.run(real, imaginary);
    return [real, imaginary];
  };
  let segments = 0;
  for (let from = 0; from + segment <= Math.min(x.length, y.length); from += segment / 2, segments++) {
    const [a, b] = part(x, from);
    const [c, d] = y === x ? [a, b] : part(y, from);
    for (let k = 0; k < lines; k++) {
      const [p, q, u, v] = [a[k], b[k], c[k], d[k]] as [number, number, number, number];
      xx[k] = (xx[k] as number) + p * p + q * q;
      yy[k] = (yy[k] as number) + u * u + v * v;
      re[k] = (re[k] as number) + p * u + q * v;
      im[k] = (im[k] as number) + q * u - p * v;
    }
  }
  return { xx, yy, re, im, segments, window };
}
