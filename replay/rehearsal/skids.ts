/** Skid landing gear: four feet that push back, give and rub. Metres, newtons; body axes. */
const feet = [
  { x: 1.05, y: -0.95, z: 1.33 },
  { x: 1.05, y: 0.95, z: 1.33 },
  { x: -1.05, y: -0.95, z: 1.33 },
  { x: -1.05, y: 0.95, z: 1.33 },
];
/** Height of the centre of gravity above the ground when the skids just touch. */
export const STANDING_HEIGHT = 1.33;

const stiffness = 65_000; // N/m a foot
const damping = 6_500; // N s/m a foot
const friction = 0.6;
/** below this sliding speed friction falls to zero, m/s: it lets a standing aircraft creep by a hair */
const creep = 0.02;

export class Skids {
  readonly in = { height: 0, u: 0, v: 0, w: 0, p: 0, q: 0, r: 0, turn: new Float64Array(9) };
  fx = 0;
  fy = 0;
  fz = 0;
  mx = 0;
  my = 0;
  mz = 0;
  /** weight carried by each skid, N */
  left = 0;
  right = 0;

  run(): void {
    this.fx = this.fy = this.fz = this.mx = this.my = this.mz = 0;
    this.left = this.right = 0;
    if (this.in.height > STANDING_HEIGHT + 1) return;
    for (const foot of feet) this.foot(foot.x, foot.y, foot.z);
  }

  private foot(x: number, y: number, z: number): void {
    const { height, u, v, w, p, q, r, turn: t } = this.in;
    const below = t[6]! * x + t[7]! * y + t[8]! * z - height;
    if (below <= 0) return;
    // velocity of the foot, body axes, then the part along the ground
    const vx = u + q * z - r * y;
    const vy = v + r * x - p * z;
    const vz = w + p * y - q * x;
    const sinking = t[6]! * vx + t[7]! * vy + t[8]! * vz;
    const normal = Math.max(0, stiffness * below + damping * sinking);
    const slideX = vx - t[6]! * sinking;
    const slideY = vy - t[7]! * sinking;
    const slideZ = vz - t[8]! * sinking;
    const slide = Math.hypot(slideX, slideY, slideZ);
    const rub = (-friction * normal) / Math.max(slide, creep);
    const fx = -normal * t[6]! + rub * slideX;
    const fy = -normal * t[7]! + rub * slideY;
    const fz = -normal * t[8]! + rub * slideZ;
    this.fx += fx;
    this.fy += fy;
    this.fz += fz;
    this.mx += y * fz - z * fy;
    this.my += z * fx - x * fz;
    this.mz += x * fy - y * fx;
    if (y < 0) this.left += normal;
    else this.right += normal;
  }
}
