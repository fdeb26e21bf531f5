/** Two tanks: the engine drinks from the forward one, a pump brings the aft tank's fuel forward. Kilograms, seconds. */
export const tanks = {
  forward: { capacity: 150, station: 2.35 },
  aft: { capacity: 100, station: 3.55 },
};
/** kg/s */
const TRANSFER = 0.06;
/** Without fuel: mass with crew and test gear, kg; centre of gravity, m; moments of inertia, kg m2. */
export const empty = { mass: 1370, station: 2.493, ixx: 740, iyy: 2900, izz: 2480 };

export class Fuel {
  readonly in = { /** kg/h */ flow: 0, transfer: false };
  forward: number;
  aft: number;
  transferring = false;
  /** kg/s into the forward tank */
  transferFlow = 0;
  used = 0;

  constructor(forward: number, aft: number) {
    this.forward = forward;
    this.aft = aft;
  }

  run(dt: number): void {
    const drawn = Math.min(this.forward, (this.in.flow / 3600) * dt);
    this.forward -= drawn;
    this.used += drawn;
    // the float switch of the forward tank has some travel between full and calling for more
    const full = tanks.forward.capacity - (this.transferring ? 2 : 8);
    this.transferring = this.in.transfer && this.aft > 0.5 && this.forward < full;
    const aim = this.transferring ? TRANSFER : 0;
    this.transferFlow += dt * 2 * (aim - this.transferFlow);
    const moved = Math.min(this.aft, this.transferFlow * dt);
    this.aft -= moved;
    this.forward += moved;
  }

  get mass(): number {
    return empty.mass + this.forward + this.aft;
  }

  /** Centre of gravity on the datum of the mass sheet, m. */
  get station(): number {
    const moment = empty.mass * empty.station + this.forward * tanks.forward.station + this.aft * tanks.aft.station;
    return moment / this.mass;
  }
}
