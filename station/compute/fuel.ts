/**
 * Fuel: what the flow has used, and when a limit is reached at the present flow. SI units: kg, kg/s, m, s. Source: sums of
 * moments, FAA-H-8083-1B, solved for the mass burned.
 */

/** The longest time that is told, s: also where the limit is never reached. */
export const LONGEST_BURN = 24 * 3600;

/**
 * Seconds until the centre of gravity (m from the datum) reaches `limit`, while fuel burns at `flow` from a tank with
 * `contents` at `arm`, and all other parts stay as they are. `mass` and `moment` (kg m) are of everything, that tank
 * included. 0 at the limit and on the far side of it, seen from `outside`: 1 = the limit is the aft one, -1 = the forward
 * one. From (moment - arm q t) / (mass - q t) = limit.
 */
export function timeToCentre(
  mass: number,
  moment: number,
  burn: { flow: number; arm: number; contents: number },
  limit: number,
  outside: 1 | -1,
): number {
  const beyond = moment - limit * mass;
  if (outside * beyond >= 0) return 0;
  const seconds = beyond / (burn.flow * (burn.arm - limit));
  return cut(seconds, burn.contents / burn.flow);
}

/** Seconds until the fuel is down to `least`, kg, at this flow; 0 when it is. */
export const timeToFuel = (fuel: number, flow: number, least: number): number =>
  fuel <= least ? 0 : cut((fuel - least) / flow, fuel / flow);

/** A time that lies ahead, while there is something to burn; else the longest. NaN stays. */
function cut(seconds: number, empty: number): number {
  if (seconds !== seconds || empty !== empty) return Number.NaN;
  return seconds >= 0 && seconds <= empty ? Math.min(seconds, LONGEST_BURN) : LONGEST_BURN;
}

/** Fuel left by flow: what there was less the integral of the flow, straight from sample to sample. */
export class FuelByFlow {
  /** kg left; NaN before it was told */
  left = Number.NaN;
  private time = Number.NaN;
  private flow = Number.NaN;

  /** Whether it has been told how much there was. */
  get isSet(): boolean {
    return this.left === this.left;
  }

  /** What there is at the time of the newest sample, kg. */
  set(left: number): void {
    this.left = left;
  }

  /** Takes the flow (kg/s) at a time in microseconds. One that is not usable is NaN: the engine burns on as it did. */
  step(time: number, flow: number): void {
    const now = flow === flow ? flow : this.flow;
    const before = this.flow === this.flow ? this.flow : now;
    const seconds = (time - this.time) / 1e6;
    // of the first sample it is NaN, and negative after a step back of time
    if (seconds > 0 && now === now) this.left -= ((before + now) / 2) * seconds;
    this.time = time;
    this.flow = now;
  }

  save(): unknown {
    const { left, time, flow } = this;
    return { left, time, flow };
  }

  restore(state: unknown): void {
    const saved = state as { left?: unknown; time?: unknown; flow?: unknown } | undefined;
    if (typeof saved?.left !== 'number' || typeof saved.time !== 'number' || typeof saved.flow !== 'number') {
      throw new Error('saved fuel lacks how much is left');
    }
    this.left = saved.left;
    this.time = saved.time;
    this.flow = saved.flow;
  }
}
