/**
 * Main rotor: blade-element thrust with uniform dynamic inflow, a tip path plane that follows the swashplate, momentum
 * theory for the induced power. Two-blade semi-rigid rotor, turning anticlockwise seen from above. SI units, radians.
 * Sources: momentum and blade-element theory as in any textbook of helicopter aerodynamics; inflow dynamics with the
 * apparent mass of a disc (0.637 of the air in a sphere of the rotor's radius); ground effect after Cheeseman and
 * Bennett (ARC R&M 3021).
 */
export const rotorShape = {
  radius: 5.4,
  /** angular speed at 100 % NR (392 rpm), rad/s */
  speed: (392 * 2 * Math.PI) / 60,
  /** blade area over disc area */
  solidity: 0.0389,
  /** lift slope of the blade section, 1/rad */
  liftSlope: 5.7,
  /** profile drag of the section: at zero lift, and what it gains with the square of CT over solidity */
  drag: 0.0085,
  dragWithLift: 0.33,
  /** induced power over the ideal one */
  inducedLoss: 1.15,
  /** hub above the centre of gravity, m; hub station on the datum of the mass sheet, m */
  hubHeight: 1.42,
  hubStation: 2.47,
  /** moment of the hub for tip path plane tilt, N m/rad */
  hubSpring: 19_000,
  /** rotating inertia, kg m2 */
  inertia: 620,
  /** stop of the flapping hinge, rad */
  flapStop: (11 * Math.PI) / 180,
};

const { radius, solidity, liftSlope } = rotorShape;
const discArea = Math.PI * radius * radius;
const apparentVolume = 0.637 * (4 / 3) * Math.PI * radius ** 3;

export class MainRotor {
  readonly in = {
    /** of the hub through the air, body axes */
    u: 0,
    v: 0,
    w: 0,
    p: 0,
    q: 0,
    /** blade pitch at three quarters of the radius, and swashplate tilt: aft and right positive */
    collective: 0,
    aft: 0,
    right: 0,
    /** angular speed */
    speed: 0,
    density: 1.225,
    /** hub above the ground */
    height: 3,
    /** centre of gravity behind the hub, m */
    arm: 0,
  };
  thrust = 0;
  /** torque needed to turn it, N m */
  torque = 0;
  inducedVelocity = 0;
  /** W: induced, profile, and work done against the air by moving the hub */
  inducedPower = 0;
  profilePower = 0;
  usefulPower = 0;
  /** tilt of the tip path plane against the shaft: aft and right positive */
  flapAft = 0;
  flapRight = 0;
  advanceRatio = 0;
  /** thrust coefficient over solidity */
  bladeLoading = 0;
  fx = 0;
  fy = 0;
  fz = 0;
  mx = 0;
  my = 0;
  mz = 0;

  run(dt: number): void {
    const { u, v, w, speed, density, collective } = this.in;
    // a rotor at rest has no aerodynamics worth the name; the floor only keeps ratios finite
    const tip = Math.max(speed, 0.5) * radius;
    const edgewise = Math.hypot(u, v);
    const mu = Math.min(0.6, edgewise / tip);
    const ground = this.groundEffect(edgewise);
    const through = this.inducedVelocity * ground;
    // velocity of the air through the swashplate's plane and through the tip path plane, downwards positive
    const normalSwash = -w - u * this.in.aft + v * this.in.right;
    const normalDisc = -w - u * this.flapAft + v * this.flapRight;
    const inflow = (through + normalSwash) / tip;
    const pressure = density * discArea * tip * tip;
    const coefficient = ((solidity * liftSlope) / 2) * ((collective / 3) * (1 + 1.5 * mu * mu) - inflow / 2);
    const stalled = 0.16 * solidity;
    this.thrust = pressure * Math.max(-stalled, Math.min(stalled, coefficient));
    this.bladeLoading = this.thrust / pressure / solidity;
    this.advanceRatio = mu;
    this.inflowDynamics(dt, edgewise, normalDisc);
    this.flapping(dt, mu, edgewise, inflow, tip);
    this.power(normalDisc, through, mu, pressure * tip);
    this.loads(speed);
  }

  /** Factor on the induced power: what gives Cheeseman and Bennett's thrust ratio at the same power; fades with speed. */
  private groundEffect(edgewise: number): number {
    const z = Math.max(this.in.height, radius / 2);
    const ratio = radius / (4 * z);
    const fade = 1 + (edgewise / Math.max(1, this.inducedVelocity)) ** 2;
    return (1 - (ratio * ratio) / fade) ** 1.5;
  }

  private inflowDynamics(dt: number, edgewise: number, normalDisc: number): void {
    const { density } = this.in;
    const flow = Math.hypot(edgewise, normalDisc + this.inducedVelocity);
    const balance = this.thrust - 2 * density * discArea * this.inducedVelocity * flow;
    this.inducedVelocity += (dt * balance) / (density * apparentVolume);
  }

  private flapping(dt: number, mu: number, edgewise: number, inflow: number, tip: number): void {
    const { u, v, p, q, aft, right, collective, density, speed } = this.in;
    const chord = (solidity * Math.PI * radius) / 2;
    const lock = (density * liftSlope * chord * radius ** 4) / (rotorShape.inertia / 2);
    const memory = 16 / (lock * Math.max(speed, 8));
    // the advancing blade flaps up: the disc tilts away from where it is going, sooner with more pitch
    const blowback = (2 * mu * ((4 / 3) * collective - inflow)) / (1 - (mu * mu) / 2);
    const share = edgewise > 0.1 ? blowback / edgewise : 0;
    const fade = Math.min(1, tip / 100);
    this.flapAft += dt * ((aft + share * u * fade - this.flapAft) / memory - q);
    this.flapRight += dt * ((right - share * v * fade - this.flapRight) / memory - p);
    const { flapStop } = rotorShape;
    this.flapAft = Math.max(-flapStop, Math.min(flapStop, this.flapAft));
    this.flapRight = Math.max(-flapStop, Math.min(flapStop, this.flapRight));
  }

  private power(normalDisc: number, through: number, mu: number, scale: number): void {
    const { speed } = this.in;
    const sectionDrag = rotorShape.drag + rotorShape.dragWithLift * this.bladeLoading ** 2;
    this.inducedPower = rotorShape.inducedLoss * this.thrust * through;
    this.usefulPower = this.thrust * normalDisc;
    this.profilePower = ((solidity * sectionDrag) / 8) * scale * (1 + 4.65 * mu * mu);
    this.torque = (this.inducedPower + this.usefulPower + this.profilePower) / Math.max(speed, 0.5);
  }

  private loads(speed: number): void {
    const { hubHeight, hubSpring } = rotorShape;
    const { arm } = this.in;
    // at rest the blades hang on the stops and the spring holds nothing
    const turning = Math.min(1, speed / 10);
    this.fx = -this.thrust * Math.sin(this.flapAft);
    this.fy = this.thrust * Math.sin(this.flapRight);
    this.fz = -this.thrust * Math.cos(this.flapAft) * Math.cos(this.flapRight);
    this.mx = hubHeight * this.fy + hubSpring * turning * this.flapRight;
    this.my = -hubHeight * this.fx - arm * this.fz + hubSpring * turning * this.flapAft;
    this.mz = arm * this.fy + this.torque;
  }
}
