/**
 * Engine control: starts the engine, holds it at idle, and governs the power turbine in flight. A feed-forward from the
 * collective goes ahead of the governor; an acceleration schedule keeps the turbine cool enough.
 */
import { fuelForRise } from './engine.ts';

/** What the pilot's engine switch says. */
export type EngineSwitch = 'off' | 'start' | 'idle' | 'fly';

export const EngineMode = { off: 0, starting: 1, idle: 2, accelerating: 3, governed: 4 } as const;

const IDLE_SPEED = 0.66;
/** hottest the schedule allows in acceleration and during the start, K above ambient */
const RUNNING_RISE = 790;
const STARTING_RISE = 715;
/** kg/h */
const LEAST_FUEL = 27.5;

export class Governor {
  readonly in = {
    switch: 'off' as EngineSwitch,
    n1: 0,
    n2: 0,
    /** rotor speed over 100 % */
    nr: 0,
    /** blade pitch, degrees */
    collectiveDeg: 0,
    densityRatio: 1,
    /** shaft power, W */
    power: 0,
    /** turbine outlet above ambient, K */
    outletRise: 0,
  };
  mode: number = EngineMode.off;
  fuelFlow = 0;
  starter = false;
  /** speed the governor aims at, over 100 % */
  reference = 0;
  private correction = 0;
  private collectiveBefore = 0;
  private steady = 0;

  run(dt: number): void {
    const aim = this.in.switch;
    if (aim === 'off') this.stop();
    else if (this.mode === EngineMode.off) this.mode = EngineMode.starting;
    if (this.mode === EngineMode.starting) this.start();
    else if (this.mode !== EngineMode.off) this.govern(dt, aim === 'fly');
    this.collectiveBefore = this.in.collectiveDeg;
  }

  private stop(): void {
    this.mode = EngineMode.off;
    this.fuelFlow = 0;
    this.starter = false;
    this.reference = 0;
  }

  private start(): void {
    const { n1, densityRatio } = this.in;
    this.starter = n1 < 0.5;
    // fuel on at 14 % N1
    this.fuelFlow = n1 > 0.14 ? fuelForRise(n1, STARTING_RISE, densityRatio, 0) : 0;
    this.reference = this.in.n2;
    this.correction = 0;
    if (n1 >= 0.6) {
      this.mode = EngineMode.idle;
      this.starter = false;
    }
  }

  private govern(dt: number, fly: boolean): void {
    const { n1, n2, nr, densityRatio, outletRise } = this.in;
    const goal = fly ? 1 : IDLE_SPEED;
    // slow when the whole rotor has to be brought up, quick when only the turbine has
    const upwards = nr > 0.95 && nr - n2 > 0.02 ? 0.12 : Math.min(0.033, 0.005 + 0.4 * (goal - this.reference));
    this.reference += Math.max(-0.02 * dt, Math.min(upwards * dt, goal - this.reference));
    this.modeFor(dt, fly);
    const error = this.reference - n2;
    const forward = fly ? this.anticipation(dt) : 32;
    const rise = Math.min(RUNNING_RISE, 2 * RUNNING_RISE - outletRise);
    const most = Math.min(145, fuelForRise(n1, rise, densityRatio, Math.max(0, this.in.power)));
    // a slow gas generator answers late, so the governor asks more gently of it
    // but takes fuel away at once when the turbine is too fast
    const quick = error < -0.01 ? 1 : Math.max(0, Math.min(1, (n1 - 0.6) / 0.25));
    const gain = 130 + 390 * quick;
    const wanted = forward + gain * error + this.correction;
    this.fuelFlow = Math.max(LEAST_FUEL, Math.min(most, wanted));
    if (wanted === this.fuelFlow) this.correction += dt * (0.15 + 0.18 * quick) * gain * error;
    this.correction = Math.max(-60, Math.min(80, this.correction));
  }

  private anticipation(dt: number): number {
    const { collectiveDeg } = this.in;
    const rate = Math.max(-8, Math.min(8, (collectiveDeg - this.collectiveBefore) / dt));
    return 33 + 7.5 * Math.max(0, collectiveDeg + 0.6 * rate);
  }

  private modeFor(dt: number, fly: boolean): void {
    const { nr, n2 } = this.in;
    if (!fly) {
      this.mode = EngineMode.idle;
      this.steady = 0;
      return;
    }
    if (this.mode === EngineMode.governed) return;
    this.mode = EngineMode.accelerating;
    const joined = Math.abs(nr - n2) < 0.004 && Math.abs(nr - 1) < 0.01 && this.reference === 1;
    this.steady = joined ? this.steady + dt : 0;
    if (this.steady > 1.5) this.mode = EngineMode.governed;
  }
}
