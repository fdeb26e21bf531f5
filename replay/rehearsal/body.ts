/**
 * Six degrees of freedom of a rigid body over flat ground. Body axes: x forward, y right, z down. Angles in radians,
 * everything else in SI units.
 */
import { GRAVITY } from './air.ts';

export class Body {
  /** forces and moments about the centre of gravity in body axes, without weight; mass and its moments of inertia */
  readonly in = { fx: 0, fy: 0, fz: 0, mx: 0, my: 0, mz: 0, mass: 1600, ixx: 780, iyy: 3000, izz: 2550 };
  north = 0;
  east = 0;
  /** of the centre of gravity above the ground */
  height = 0;
  /** velocity over the ground in body axes */
  u = 0;
  v = 0;
  w = 0;
  p = 0;
  q = 0;
  r = 0;
  roll = 0;
  pitch = 0;
  heading = 0;
  /** velocity over the ground in earth axes */
  velocityNorth = 0;
  velocityEast = 0;
  climb = 0;
  /** load factors: specific force in g, positive forward, right and up */
  nx = 0;
  ny = 0;
  nz = 1;
  /** body to earth, row by row (north, east, down) */
  readonly turn = new Float64Array(9);

  constructor(heading: number, height: number) {
    this.heading = heading;
    this.height = height;
    this.attitude();
  }

  run(dt: number): void {
    const { fx, fy, fz, mx, my, mz, mass, ixx, iyy, izz } = this.in;
    const { p, q, r, turn } = this;
    this.p += (dt * (mx - (izz - iyy) * q * r)) / ixx;
    this.q += (dt * (my - (ixx - izz) * r * p)) / iyy;
    this.r += (dt * (mz - (iyy - ixx) * p * q)) / izz;
    const gx = GRAVITY * turn[6]!;
    const gy = GRAVITY * turn[7]!;
    const gz = GRAVITY * turn[8]!;
    const { u, v, w } = this;
    this.u += dt * (fx / mass + gx + r * v - q * w);
    this.v += dt * (fy / mass + gy + p * w - r * u);
    this.w += dt * (fz / mass + gz + q * u - p * v);
    this.nx = fx / (mass * GRAVITY);
    this.ny = fy / (mass * GRAVITY);
    this.nz = -fz / (mass * GRAVITY);
    this.kinematics(dt);
  }

  private kinematics(dt: number): void {
    const { p, q, r } = this;
    const sinRoll = Math.sin(this.roll);
    const cosRoll = Math.cos(this.roll);
    const yawing = (q * sinRoll + r * cosRoll) / Math.cos(this.pitch);
    this.roll += dt * (p + yawing * Math.sin(this.pitch));
    this.pitch += dt * (q * cosRoll - r * sinRoll);
    this.heading += dt * yawing;
    if (this.heading >= 2 * Math.PI) this.heading -= 2 * Math.PI;
    else if (this.heading < 0) this.heading += 2 * Math.PI;
    this.attitude();
    this.north += dt * this.velocityNorth;
    this.east += dt * this.velocityEast;
    this.height += dt * this.climb;
  }

  /** Brings `turn` and the earth velocities up to date with the angles. */
  private attitude(): void {
    const { turn, u, v, w } = this;
    const sr = Math.sin(this.roll);
    const cr = Math.cos(this.roll);
    const sp = Math.sin(this.pitch);
    const cp = Math.cos(this.pitch);
    const sh = Math.sin(this.heading);
    const ch = Math.cos(this.heading);
    turn[0] = cp * ch;
    turn[1] = sr * sp * ch - cr * sh;
    turn[2] = cr * sp * ch + sr * sh;
    turn[3] = cp * sh;
    turn[4] = sr * sp * sh + cr * ch;
    turn[5] = cr * sp * sh - sr * ch;
    turn[6] = -sp;
    turn[7] = sr * cp;
    turn[8] = cr * cp;
    this.velocityNorth = turn[0]! * u + turn[1]! * v + turn[2]! * w;
    this.velocityEast = turn[3]! * u + turn[4]! * v + turn[5]! * w;
    this.climb = -(turn[6]! * u + turn[7]! * v + turn[8]! * w);
  }
}
