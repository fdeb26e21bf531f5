/**
 * Time that a value spends in a band: each sample speaks for the time until the next one. What is not known counts
 * against the aircraft, as time in the band: samples that are not usable, and a gap after which the last sample no longer
 * holds (`longest`), but for the one period (`period`) that this sample speaks for.
 *
 * Times in microseconds of aircraft time. What it carries is in `state`, and depends on the samples alone.
 */
export class BandTimer {
  /** newest sample's time (NaN: none), 1 if in the band, 1 if not usable, total, of which was not known */
  readonly state = new Float64Array([Number.NaN, 0, 0, 0, 0]);
  private readonly over: number;
  private readonly upTo: number;
  private readonly margin: number;
  private readonly longest: number;
  private readonly period: number;

  /** In the band: greater than `over`, at most `upTo`; left when beyond either by more than `margin`. */
  constructor(band: { over: number; upTo: number; margin: number }, longest: number, period: number) {
    this.over = band.over;
    this.upTo = band.upTo;
    this.margin = band.margin;
    this.longest = longest;
    this.period = period;
  }

  /** The time up to `now` goes to where the newest sample was. A step back in time counts nothing. */
  pass(now: number): void {
    const s = this.state;
    const dt = now - (s[0] as number);
    s[0] = now;
    if (!(dt > 0)) return;
    const unknown = s[2] === 1 ? dt : dt > this.longest ? dt - this.period : 0;
    s[3] = (s[3] as number) + (s[1] === 1 ? dt : unknown);
    s[4] = (s[4] as number) + unknown;
  }

  /** The sample at the time that was passed to. */
  take(value: number): void {
    const s = this.state;
    const margin = s[1] === 1 ? this.margin : 0;
    s[1] = value > this.over - margin && value <= this.upTo + margin ? 1 : 0;
    s[2] = 0;
  }

  /** The sample there is not usable. */
  lose(): void {
    this.state[2] = 1;
  }

  /** Nothing is counted from here to the next sample. */
  pause(): void {
    const s = this.state;
    s[0] = Number.NaN;
    s[1] = 0;
    s[2] = 0;
  }

  /** Counts from 0. */
  clear(): void {
    this.state[3] = 0;
    this.state[4] = 0;
  }

  /** Whether the newest sample is in the band, or may be. */
  mayBeIn(): boolean {
    return this.state[1] === 1 || this.state[2] === 1;
  }

  total(): number {
    return this.state[3] as number;
  }

  /** how much of the total counts only because it is not known */
  unknown(): number {
    return this.state[4] as number;
  }
}
