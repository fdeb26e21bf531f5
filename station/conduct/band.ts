/**
 * Bands and settings over parameters of different rates: each sample holds until the next one of its parameter, but no longer
 * than a cap, after which the band cannot tell. A sample that cannot be used cannot tell at once.
 */
import type { Band, Setting } from '../../protocol/card.ts';
import type { Told } from '../../protocol/conduct.ts';
import { isUsable } from '../../protocol/validity.ts';
import type { Stateful } from '../stage.ts';

/** What holds while a parameter is from `low` to `high`, both included; or, for a setting, is not zero. */
export interface Check {
  /** number of the input it looks at */
  input: number;
  low: number;
  high: number;
  /** a setting: low and high do not matter */
  isSetting: boolean;
}

export const bandCheck = (input: number, { target, below, above }: Band): Check => ({
  input,
  low: target - below,
  high: target + above,
  isSetting: false,
});

export const settingCheck = (input: number, _: Setting): Check => ({ input, low: 0, high: 0, isSetting: true });

/** Whether a usable value fulfils the check. */
export const fulfils = ({ isSetting, low, high }: Check, value: number): boolean =>
  isSetting ? value !== 0 : value >= low && value <= high;

/** Codes of `Told` in the state of a band. */
const told: readonly Told[] = ['cannot tell', 'inside', 'outside'];
const CANNOT_TELL = 0;
const INSIDE = 1;
const OUTSIDE = 2;

interface SavedBands {
  value: Float64Array;
  at: Float64Array;
  state: Uint8Array;
  since: Float64Array;
  heldSince: number;
  now: number;
}

/** The newest of each input, and since when all checks have been fulfilled without a break. Times in aircraft time. */
export class Bands implements Stateful {
  private readonly checks: readonly Check[];
  /** longest that a sample of each input holds */
  private readonly cap: readonly number[];
  /** of each input: its newest sample, NaN where that cannot be used; when the newest usable one was, -Infinity before */
  private readonly value: Float64Array;
  private readonly at: Float64Array;
  /** of each check: its state as of `now`, and when it became that; 0 = never seen */
  private readonly state: Uint8Array;
  private readonly since: Float64Array;
  /** first instant since which every check has been fulfilled; -1 = not now */
  heldSince = -1;
  /** the newest instant looked at; 0 = none yet */
  now = 0;
  private hasGap = false;

  constructor(checks: readonly Check[], cap: readonly number[]) {
    this.checks = checks;
    this.cap = cap;
    this.value = new Float64Array(cap.length).fill(Number.NaN);
    this.at = new Float64Array(cap.length).fill(-Infinity);
    this.state = new Uint8Array(checks.length);
    this.since = new Float64Array(checks.length);
  }

  /** A sample. What it means for the bands is told by `settle`, once all samples of the instant are there. */
  take(input: number, time: number, value: number, validity: number): void {
    if (!isUsable(validity)) {
      this.value[input] = Number.NaN;
      return;
    }
    const last = this.at[input] as number;
    // nobody may have looked while it was too old
    if (time - last > (this.cap[input] as number)) this.hasGap = true;
    this.value[input] = value;
    this.at[input] = time;
  }

  /** All samples of this instant have been taken. */
  settle(time: number): void {
    const { checks, state, since } = this;
    // aircraft time stepped back: what was held before is not of this time
    if (time < this.now) this.forget(time);
    let all = true;
    for (let k = 0; k < checks.length; k++) {
      const now = this.look(checks[k] as Check, time);
      if (now !== INSIDE) all = false;
      if (now === state[k] && since[k] !== 0) continue;
      state[k] = now;
      since[k] = time;
    }
    if (!all) this.heldSince = -1;
    else if (this.heldSince < 0 || this.hasGap) this.heldSince = time;
    this.hasGap = false;
    this.now = time;
  }

  private forget(time: number): void {
    this.hasGap = true;
    for (let i = 0; i < this.at.length; i++) {
      if ((this.at[i] as number) <= time) continue;
      this.value[i] = Number.NaN;
      this.at[i] = -Infinity;
    }
  }

  private look(check: Check, time: number): number {
    const { input } = check;
    const value = this.value[input] as number;
    if (Number.isNaN(value) || time - (this.at[input] as number) > (this.cap[input] as number)) return CANNOT_TELL;
    return fulfils(check, value) ? INSIDE : OUTSIDE;
  }

  /** Whether every check has been fulfilled for so long, as of the newest instant. */
  hasHeld(dwell: number): boolean {
    return this.heldSince >= 0 && this.now - this.heldSince >= dwell;
  }

  /** The newest usable value of what a check looks at, its state and since when it is that. */
  read(check: number): { value: number | null; state: Told; since: number } {
    const value = this.value[(this.checks[check] as Check).input] as number;
    return {
      value: Number.isNaN(value) ? null : value,
      state: told[this.state[check] as number] as Told,
      since: this.since[check] as number,
    };
  }

  save(): unknown {
    const { value, at, state, since, heldSince, now } = this;
    return { value, at, state, since, heldSince, now } satisfies SavedBands;
  }

  restore(saved: unknown): void {
    const { value, at, state, since, heldSince, now } = saved as SavedBands;
    this.value.set(value);
    this.at.set(at);
    this.state.set(state);
    this.since.set(since);
    this.heldSince = heldSince;
    this.now = now;
    this.hasGap = false;
  }
}
