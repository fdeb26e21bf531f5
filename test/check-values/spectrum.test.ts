/** Spectra, damping and vibration against published values; rows and sources in spectrum.json and vibration.json. */
import { describe, expect, it } from 'vitest';
import { DecayFit, dampingRatio, naturalPulsation } from '../../station/compute/damping.ts';
import {
  coherenceOf,
  coherentGain,
  Fourier,
  noiseBandwidth,
  spectrumOf,
  type WindowName,
  windowOf,
} from '../../station/compute/spectrum.ts';
import { type CheckRow, checkRows, rowName } from './rows.ts';

/** Rows that state something and give nothing to compute; the list may only shrink. */
const statements: Record<string, string> = {
  'VI-4P': 'what one aircraft shook with',
  'VI-PEAK': 'a usual factor; a peak is measured here, and no rms multiplied',
  'VI-8501A': 'a limit as quoted',
};

const sine = (amplitude: number, frequency: number, rate: number, count: number, phase = 0): Float64Array =>
  Float64Array.from({ length: count }, (_, i) => amplitude * Math.sin((2 * Math.PI * frequency * i) / rate + phase));

/** Reproducible normal noise. */
function noise(deviation: number, count: number, seed: number): Float64Array {
  let state = seed;
  return Float64Array.from({ length: count }, () => {
    let sum = -6;
    for (let k = 0; k < 12; k++) {
      state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
      sum += state / 2 ** 32;
    }
    return deviation * sum;
  });
}

const sum = (values: ArrayLike<number>): number => Array.from(values).reduce((total, value) => total + value, 0);

function fourier(values: readonly number[]): { re: Float64Array; im: Float64Array } {
  const [re, im] = [Float64Array.from(values), new Float64Array(values.length)];
  new Fourier(values.length).run(re, im);
  return { re, im };
}

/** Amplitude of a line of a windowed cosine that lies `beside` lines next to it. */
function besideLine(name: WindowName, beside: number): number {
  const length = 4096;
  const window = windowOf(name, length);
  const values = Array.from(window, (w, i) => w * Math.cos((2 * Math.PI * (512 + beside) * i) / length));
  const { re, im } = fourier(values);
  return Math.hypot(re[512] as number, im[512] as number);
}

const settings = { rate: 1024, segment: 1024, window: 'hann' } as const;
const spectrum = (amplitude: number) => spectrumOf(sine(amplitude, 64, 1024, 8 * 1024), settings);

/** The decay of the Prony and moving-block rows, fitted: the quantity is theirs, the method is ours. */
function decay({ zeta, f_Hz, dt_s = 0.05, duration_s = 6 }: Record<string, number>) {
  const count = Math.round((duration_s as number) / (dt_s as number)) + 1;
  const fit = new DecayFit(count, 0);
  const natural = 2 * Math.PI * (f_Hz as number);
  const damped = natural * Math.sqrt(1 - (zeta as number) ** 2);
  for (let i = 0; i < count; i++) {
    const t = i * (dt_s as number);
    fit.time[i] = t;
    fit.value[i] = Math.exp(-(zeta as number) * natural * t) * Math.cos(damped * t);
  }
  const found = fit.fit(count, 0.8 * (f_Hz as number), 1.2 * (f_Hz as number), 0, 1 / (dt_s as number));
  if (!found) throw new Error('no decay');
  const pulsation = 2 * Math.PI * found.frequency;
  return { ...found, natural: pulsation / Math.sqrt(1 - found.ratio ** 2) };
}

/** A library's example: a sine of 2 V rms in noise of 0.001 V^2/Hz. */
const library = (name: WindowName) => {
  const [rate, count] = [10_000, 100_000];
  const wave = sine(2 * Math.SQRT2, 1234, rate, count);
  const wild = noise(Math.sqrt((0.001 * rate) / 2), count, 1);
  return spectrumOf(
    wave.map((x, i) => x + (wild[i] as number)),
    { rate, segment: 1024, window: name },
  );
};

const computed: [pattern: RegExp, of: (inputs: Record<string, number>, row: CheckRow) => number][] = [
  [/^SP-WIN-.*-CG$/, (i, row) => coherentGain(windowOf(windowName(row), i.N as number))],
  [/^SP-WIN-.*-ENBW$/, (i, row) => noiseBandwidth(windowOf(windowName(row), i.N as number))],
  [/^SP-HANN-SCALLOP$/, () => 20 * Math.log10(besideLine('hann', 0) / besideLine('hann', 0.5))],
  [/^SP-SPECTRUM$/, (i) => spectrum(i.amplitude as number).power[64] as number],
  [/^SP-PSD-AREA$/, (i) => sum(spectrum(i.amplitude as number).density) * spectrum(i.amplitude as number).step],
  [/^SP-PSD-PEAK$/, () => spectrum(2).density[64] as number],
  [/^SP-WELCH-SCIPY$/, () => Math.sqrt(Math.max(...library('flat top').power))],
  [/^SP-NOISE$/, () => sum(library('hann').density.slice(257)) / 256],
  [
    /^SP-PARSEVAL$/,
    (i) => {
      const { re, im } = fourier(i.x as unknown as number[]);
      return sum(re.map((x, k) => x * x + (im[k] as number) ** 2)) / re.length;
    },
  ],
  [/^SP-LOGDEC-HALF$/, (i) => dampingRatio(-Math.log(i.ratio as number), 2 * Math.PI * (i.cycles as number))],
  [/^SP-HCAR$/, (i) => dampingRatio(-Math.log(i.HCAR as number), Math.PI)],
  // the time at which a decay of this damping ratio and pulsation is half of what it was
  [/^SP-THALF$/, (i) => timeTo(0.5, i.zeta as number) / (i.wn_rad_s as number)],
  [/^SP-CHALF$/, () => cyclesTo(0.5)],
  [/^SP-C10$/, () => cyclesTo(0.1)],
  [/^SP-EIG-.*-WN$/, (i) => naturalPulsation(i.real as number, i.imag as number)],
  [/^SP-EIG-.*-Z$/, (i) => dampingRatio(i.real as number, i.imag as number)],
  [/^SP-PRONY-Z$/, (i) => decay(i).ratio],
  [/^SP-PRONY-F$/, (i) => decay(i).natural / (2 * Math.PI)],
  [/^SP-MOVBLK$/, (i) => -decay(i).ratio * decay(i).natural],
  [
    /^SP-COH$/,
    () => {
      const x = noise(1, 8192, 3);
      return Math.min(
        ...coherenceOf(
          x,
          x.map((value) => 2 * value),
          settings,
        ).slice(1),
      );
    },
  ],
  // both senses: twice the frequency of the strongest line, in one second
  [
    /^SP-ZC$/,
    (i) => {
      const rate = 1024;
      const { power, step } = spectrumOf(sine(1, i.f_Hz as number, rate, rate, i.phase), settings);
      return 2 * step * power.indexOf(Math.max(...power));
    },
  ],
  [/^VI-SINE$/, (i) => Math.sqrt(spectrum(i.amplitude_g as number).power[64] as number)],
  [
    /^VI-RSS$/,
    (i) => {
      const lines = i.rms_g as unknown as number[];
      const waves = lines.map((rms, k) => sine(rms * Math.SQRT2, 7 * 2 ** k, 1024, 8192));
      const { density, step } = spectrumOf(
        Float64Array.from({ length: 8192 }, (_, n) => sum(waves.map((w) => w[n] as number))),
        settings,
      );
      return Math.sqrt(sum(density) * step);
    },
  ],
];

function windowName({ id }: CheckRow): WindowName {
  const name = id.split('-')[2] as string;
  return (name === 'flattop' ? 'flat top' : name) as WindowName;
}

/** Time, times the natural pulsation, to this share of the amplitude, found by halving an interval on `dampingRatio`. */
function timeTo(share: number, zeta: number): number {
  let [low, high] = [0, 1e6];
  for (let k = 0; k < 100; k++) {
    const middle = (low + high) / 2;
    // a decay to `share` in the time `middle` at wn = 1 has s = ln(share) / middle and w = sqrt(1 - s^2)
    const s = Math.log(share) / middle;
    const ratio = Math.abs(s) >= 1 ? 1 : dampingRatio(s, Math.sqrt(1 - s * s));
    if (ratio > zeta) low = middle;
    else high = middle;
  }
  return low;
}

/** Cycles to this share of the amplitude times zeta / sqrt(1 - zeta^2). */
function cyclesTo(share: number): number {
  const cycles = 3;
  const zeta = dampingRatio(Math.log(share), 2 * Math.PI * cycles);
  return (cycles * zeta) / Math.sqrt(1 - zeta * zeta);
}

describe.each(['spectrum', 'vibration'])('published values of %s', (file) => {
  const rows = checkRows(file);
  it.each(rows.filter(({ id }) => !(id in statements) && id !== 'SP-DFT4').map((row) => [rowName(row), row] as const))(
    '%s',
    (_, row) => {
      const of = computed.find(([pattern]) => pattern.test(row.id))?.[1];
      expect(of, 'a row that nothing computes').toBeDefined();
      expect(Math.abs((of?.(row.inputs, row) as number) - row.expected)).toBeLessThanOrEqual(row.tolerance);
    },
  );
});

describe('the Fourier transform of a row', () => {
  it('is that of SP-DFT4, exactly', () => {
    const row = checkRows('spectrum').find(({ id }) => id === 'SP-DFT4') as CheckRow;
    const { re, im } = fourier(row.inputs.x as unknown as number[]);
    const text = Array.from(re, (x, k) => `${x}${(im[k] as number) < 0 ? '-' : '+'}${Math.abs(im[k] as number)}j`);
    expect(text).toEqual(row.expected);
  });
});

it('leaves out only rows that are there', () => {
  const ids = ['spectrum', 'vibration'].flatMap(checkRows).map(({ id }) => id);
  expect(Object.keys(statements).filter((id) => !ids.includes(id))).toEqual([]);
});
