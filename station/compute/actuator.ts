/**
 * Nominal model of an actuator: second order, its speed limited. Units of position are the caller's; time in s.
 *
 *   y'' = w^2 (u - y) - 2 z w y', |y'| <= limit, w = 2 pi f
 *
 * f: natural frequency in Hz, z: damping ratio. Source: textbook model of a position servo with saturating speed.
 */

/** A step of integration turns the model by at most this angle, rad: beyond it, steps are divided. */
const FINEST_TURN = 0.2;
/** so that a long step between two samples costs no more than this many */
const MOST_STEPS = 1000;

export class ActuatorModel {
  /** position and speed */
  private y = Number.NaN;
  private v = 0;
  private readonly w: number;
  private readonly damping: number;
  private readonly limit: number;

  constructor(frequency: number, damping: number, limit: number) {
    this.w = 2 * Math.PI * frequency;
    this.damping = damping;
    this.limit = limit;
  }

  /** At rest at a position. */
  start(position: number): number {
    this.y = position;
    this.v = 0;
    return position;
  }

  /** Position after `dt` seconds in which the command went straight from `from` to `to`; fourth order Runge-Kutta. */
  step(dt: number, from: number, to: number): number {
    const steps = Math.min(MOST_STEPS, Math.max(1, Math.ceil((dt * this.w) / FINEST_TURN)));
    const h = dt / steps;
    for (let i = 0; i < steps; i++) {
      const a = from + ((to - from) * i) / steps;
      const b = from + ((to - from) * (i + 1)) / steps;
      this.turn(h, a, (a + b) / 2, b);
    }
    return this.y;
  }

  private turn(h: number, start: number, middle: number, end: number): void {
    const { y, v } = this;
    const v1 = this.bounded(v);
    const a1 = this.acceleration(y, v1, start);
    const v2 = this.bounded(v + (h / 2) * a1);
    const a2 = this.acceleration(y + (h / 2) * v1, v2, middle);
    const v3 = this.bounded(v + (h / 2) * a2);
    const a3 = this.acceleration(y + (h / 2) * v2, v3, middle);
    const v4 = this.bounded(v + h * a3);
    const a4 = this.acceleration(y + h * v3, v4, end);
    this.y = y + (h / 6) * (v1 + 2 * v2 + 2 * v3 + v4);
    this.v = this.bounded(v + (h / 6) * (a1 + 2 * a2 + 2 * a3 + a4));
  }

  private acceleration(y: number, v: number, u: number): number {
    return this.w * this.w * (u - y) - 2 * this.damping * this.w * v;
  }

  private bounded(speed: number): number {
    return Math.min(this.limit, Math.max(-this.limit, speed));
  }

  save(): unknown {
    return { y: this.y, v: this.v };
  }

  restore(state: unknown): void {
    const { y, v } = state as { y: number; v: number };
    this.y = y;
    this.v = v;
  }
}
