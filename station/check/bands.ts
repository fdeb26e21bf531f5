/**
 * The newest thinned samples of a vibration, and the tones that are in them beside what repeats with the rotor: how large
 * each is in the middle of the window, and how fast it grows.
 */
import { SECOND } from '../../protocol/time.ts';
import { Coherence } from '../compute/coherence.ts';
import { ToneFit } from '../compute/tone.ts';
import type { Stateful } from '../stage.ts';
import { restoreArray } from './kind.ts';
import { restoreNumbers } from './saved.ts';

/** Frequencies looked at lie this share of 1 / window apart. */
export const SPACING = 0.5;

/** Nearer to an order than this share of 1 / window, a tone is not told from it. */
const BESIDE = 0.4;

/** A tone that is found and turns out to lie this near to an order is a change of the order, and no tone of its own. */
const PART_OF = 0.25;

/** Tones that are told from each other in one window. */
const MOST_TONES = 3;

/** Share of a window that must have samples. */
const FILLED = 0.8;

/** A tone with less than this share of the floor in the first look cannot reach the floor in the fit. */
const SCREEN = 0.3;

/** Standard deviations of its growth a tone must grow by to be told from noise. */
const SURE = 5;

/** Powers of the time that are removed: a value that drifts or bends is no vibration. */
const POWERS = 3;

/** Windows that the averages of coherence reach back. */
const AVERAGED = 4;

/** Coherence from which a tone goes with a control. Common practice for frequency responses. */
const COHERENT = 0.6;

export interface BandSettings {
  /** Hz: lowest and highest frequency looked at */
  from: number;
  to: number;
  /** seconds */
  window: number;
  /** amplitude below which a tone does not count */
  floor: number;
  /** orders 1 to this are removed */
  orders: number;
  /** thinned samples a second, and from one look at the window to the next */
  rate: number;
  hop: number;
  controls: number;
}

/** Frequencies looked at, Hz. */
export function bandsOf({ from, to, window }: Pick<BandSettings, 'from' | 'to' | 'window'>): Float64Array {
  const step = SPACING / window;
  return Float64Array.from({ length: Math.floor((to - from) / step + 1e-9) + 1 }, (_, k) => from + k * step);
}

export class Bands implements Stateful {
  readonly frequencies: Float64Array;
  /** growth of the amplitude of the fastest growing tone, % a second, 0 for none; and the nearest frequency looked at */
  growth = 0;
  band = -1;
  /** number of the control it goes with; -1 for none */
  control = -1;
  private readonly settings: BandSettings;
  /** samples in the ring, of `size` slots: time, value, turns of the rotor */
  private readonly time: Float64Array;
  private readonly value: Float64Array;
  private readonly turns: Float64Array;
  /** cosine and sine of each frequency at the time of each sample: `size` slots a frequency */
  private readonly cosines: Float64Array;
  private readonly sines: Float64Array;
  /** one column a control; NaN = not usable */
  private readonly controls: Float64Array[];
  /** newest slot; slots in use; windows that went into the coherence */
  private readonly now = { head: 0, count: 0, windows: 0 };
  private readonly fit: ToneFit;
  /** turns of the samples in order; what was left before tones were removed */
  private readonly angle: Float64Array;
  private readonly before: Float64Array;
  /** frequencies of the tones found, Hz */
  private readonly tones = new Float64Array(MOST_TONES);
  /** one a control */
  private readonly coherences: Coherence[];
  private readonly stick: Float64Array;
  /** part of a signal at a frequency, cosine and sine */
  private readonly parts: Float64Array;

  constructor(settings: BandSettings) {
    this.settings = settings;
    this.frequencies = bandsOf(settings);
    const size = this.sizeOf();
    this.time = new Float64Array(size);
    this.value = new Float64Array(size);
    this.turns = new Float64Array(size);
    this.cosines = new Float64Array(this.frequencies.length * size);
    this.sines = new Float64Array(this.frequencies.length * size);
    this.angle = new Float64Array(size);
    this.before = new Float64Array(size);
    const { hop, rate, window } = settings;
    const keep = Math.exp(-hop / rate / (AVERAGED * window));
    this.controls = Array.from({ length: settings.controls }, () => new Float64Array(size));
    this.coherences = this.controls.map(() => new Coherence(this.frequencies.length, keep));
    this.stick = new Float64Array(size);
    this.parts = new Float64Array(2);
    this.fit = new ToneFit(size, POWERS + 2 * settings.orders + 4 * MOST_TONES);
  }

  private sizeOf(): number {
    return Math.max(1, Math.round(this.settings.window * this.settings.rate));
  }

  get size(): number {
    return this.time.length;
  }

  clear(): void {
    this.now.count = 0;
    this.now.windows = 0;
    for (const coherence of this.coherences) coherence.clear();
  }

  /** A control at the sample that was pushed last; NaN when it is not usable. */
  setControl(control: number, value: number): void {
    (this.controls[control] as Float64Array)[this.now.head] = value;
  }

  push(time: number, value: number, turns: number): void {
    const { now } = this;
    const { length } = this.time;
    now.head = (now.head + 1) % length;
    this.time[now.head] = time;
    this.value[now.head] = value;
    this.turns[now.head] = turns;
    if (now.count < length) now.count++;
    this.turn(now.head);
  }

  /** The cosines and sines of one slot. */
  private turn(slot: number): void {
    const { frequencies, cosines, sines } = this;
    const { length } = this.time;
    const seconds = (this.time[slot] as number) / SECOND;
    for (let k = 0; k < frequencies.length; k++) {
      const angle = 2 * Math.PI * (((frequencies[k] as number) * seconds) % 1);
      cosines[k * length + slot] = Math.cos(angle);
      sines[k * length + slot] = Math.sin(angle);
    }
  }

  /** Samples of the window into `fit.time` (seconds from its middle), `fit.rest` and `angle`; how many. */
  private gather(): number {
    const { now, fit, time, settings } = this;
    const { length } = time;
    const newest = time[now.head] as number;
    let used = 0;
    for (let k = now.count - 1; k >= 0; k--) {
      const slot = (now.head - k + length) % length;
      const age = (newest - (time[slot] as number)) / SECOND;
      if (age > settings.window) continue;
      fit.time[used] = settings.window / 2 - age;
      fit.rest[used] = this.value[slot] as number;
      this.angle[used++] = this.turns[slot] as number;
    }
    return used;
  }

  /**
   * Finds `growth` and `band` from the window that ends with the newest sample; `speed` in turns a second. False when too
   * many samples are missing.
   */
  judge(speed: number): boolean {
    const { fit, settings, before, tones } = this;
    const used = this.gather();
    if (used < FILLED * this.size) return false;
    fit.begin(used);
    for (let power = 0; power < POWERS; power++) fit.removePower(power);
    // an order at half the rate and above has no place among the samples
    fit.removeOrders(Math.min(settings.orders, Math.ceil(settings.rate / 2 / speed) - 1), this.angle);
    before.set(fit.rest);
    this.compare();
    const mark = fit.mark();
    let found = 0;
    while (found < MOST_TONES) {
      const frequency = this.strongest(speed);
      if (frequency === undefined) break;
      tones[found++] = frequency;
      fit.removeTone(0, 2 * Math.PI * frequency);
    }
    this.growth = 0;
    this.band = -1;
    this.control = -1;
    for (let k = 0; k < found; k++) {
      fit.forget(mark);
      fit.rest.set(before);
      for (let other = 0; other < found; other++) {
        if (other !== k) fit.removeTone(0, 2 * Math.PI * (tones[other] as number));
      }
      this.weigh(tones[k] as number, speed);
    }
    return true;
  }

  /** Frequency of the largest tone that is left, as near as one step of the fit brings it; undefined for none. */
  private strongest(speed: number): number | undefined {
    const { fit, frequencies, settings } = this;
    const { floor, window } = settings;
    let largest = SCREEN * floor;
    let best: number | undefined;
    for (let k = 0; k < frequencies.length; k++) {
      const frequency = frequencies[k] as number;
      if (distance(frequency, speed, settings.orders) < BESIDE / window) continue;
      const amplitude = this.look(k);
      if (!(amplitude > largest)) continue;
      largest = amplitude;
      best = frequency;
    }
    if (best === undefined || !fit.fit(0, 2 * Math.PI * best)) return undefined;
    const half = SPACING / window;
    return best + Math.max(-half, Math.min(half, fit.turning / (2 * Math.PI)));
  }

  /** Amplitude of a frequency in what is left, by a sum over the samples: no more than a first look. */
  private look(band: number): number {
    this.transform(this.fit.rest, band);
    return (2 * Math.hypot(this.parts[0] as number, this.parts[1] as number)) / this.fit.count;
  }

  /** The `parts` of some samples of the window at a frequency. */
  private transform(values: Float64Array, band: number): void {
    const { now, fit, parts, cosines, sines } = this;
    const { length } = this.time;
    let p = 0;
    let q = 0;
    // the samples used are the newest of the ring
    let slot = (now.head - fit.count + 1 + length) % length;
    for (let i = 0; i < fit.count; i++) {
      p += (values[i] as number) * (cosines[band * length + slot] as number);
      q += (values[i] as number) * (sines[band * length + slot] as number);
      if (++slot === length) slot = 0;
    }
    parts[0] = p;
    parts[1] = q;
  }

  /** Coherence of the vibration with each control, both without what repeats with the rotor. */
  private compare(): void {
    const { now, fit, controls, coherences, stick, parts, frequencies, before } = this;
    const { length } = stick;
    now.windows++;
    for (let c = 0; c < controls.length; c++) {
      const control = controls[c] as Float64Array;
      let isUsable = true;
      // the samples used are the newest of the ring
      for (let i = 0; i < fit.count; i++) {
        const x = control[(now.head - fit.count + 1 + i + length) % length] as number;
        if (x !== x) isUsable = false;
        stick[i] = x;
      }
      if (isUsable) fit.strip(stick);
      else stick.fill(0);
      for (let k = 0; k < frequencies.length; k++) {
        this.transform(before, k);
        const [p, q] = parts as unknown as [number, number];
        this.transform(stick, k);
        (coherences[c] as Coherence).add(k, p, q, parts[0] as number, parts[1] as number);
      }
    }
  }

  /** The control that goes with a frequency most, if one does; of a coherence over a few windows at least. */
  private controlOf(band: number): number {
    const { now, coherences, settings } = this;
    if ((now.windows * settings.hop) / settings.rate < AVERAGED * settings.window) return -1;
    let most = COHERENT;
    let best = -1;
    for (let c = 0; c < coherences.length; c++) {
      const coherence = (coherences[c] as Coherence).at(band);
      if (coherence < most) continue;
      most = coherence;
      best = c;
    }
    return best;
  }

  /** Takes the tone for the fastest growing one when it is. */
  private weigh(frequency: number, speed: number): void {
    const { fit, settings, frequencies } = this;
    if (distance(frequency, speed, settings.orders) < PART_OF / settings.window) return;
    if (!fit.fit(0, 2 * Math.PI * frequency) || !(fit.amplitude >= settings.floor)) return;
    if (!(fit.growth > SURE * fit.deviation)) return;
    const growth = 100 * Math.expm1(fit.growth);
    if (growth <= this.growth) return;
    this.growth = growth;
    const step = SPACING / settings.window;
    this.band = Math.max(0, Math.min(frequencies.length - 1, Math.round((frequency - settings.from) / step)));
    this.control = this.controlOf(this.band);
  }

  save(): unknown {
    const { time, value, turns, controls, growth, band, control } = this;
    const coherences = this.coherences.map((one) => one.save());
    return { time, value, turns, controls, coherences, result: { growth, band, control }, now: { ...this.now } };
  }

  restore(state: unknown): void {
    const saved = state as Record<string, unknown> | undefined;
    restoreArray(this.time, saved?.time, 'times of bands');
    restoreArray(this.value, saved?.value, 'values of bands');
    restoreArray(this.turns, saved?.turns, 'turns of bands');
    const [columns, averages] = [saved?.controls, saved?.coherences] as [unknown[] | undefined, unknown[] | undefined];
    this.controls.forEach((column, c) => {
      restoreArray(column, columns?.[c], 'controls of bands');
      (this.coherences[c] as Coherence).restore(averages?.[c]);
    });
    restoreNumbers(this.now, saved?.now, 'bands');
    const result = { growth: 0, band: 0, control: 0 };
    restoreNumbers(result, saved?.result, 'bands');
    Object.assign(this, result);
    for (let slot = 0; slot < this.time.length; slot++) this.turn(slot);
  }
}

/** Distance of a frequency from the nearest of the first orders, Hz. */
function distance(frequency: number, speed: number, orders: number): number {
  const nearest = Math.max(1, Math.min(orders, Math.round(frequency / speed)));
  return Math.abs(frequency - nearest * speed);
}
