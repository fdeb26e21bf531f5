/** Tail rotor, fin, stabiliser and fuselage: what keeps the nose where it is, and what drags. SI units, radians. */
const tailRotor = {
  radius: 0.86,
  /** turns for one turn of the main rotor */
  ratio: 5.4,
  solidity: 0.15,
  liftSlope: 5.7,
  drag: 0.012,
  inducedLoss: 1.2,
  /** behind the centre of gravity, and above it, m */
  arm: 6.4,
  above: 0.6,
};
const tailArea = Math.PI * tailRotor.radius ** 2;

/** Flat-plate areas of the fuselage along its axes, m2; stabiliser and fin: area, lift slope, arm. */
const fuselage = { front: 1.38, side: 4.2, below: 3.6 };
const stabiliser = { area: 0.55, liftSlope: 3.5, arm: 4.4 };
const fin = { area: 0.6, liftSlope: 3, arm: 6 };

export class Tail {
  readonly in = {
    /** of the centre of gravity through the air, body axes */
    u: 0,
    v: 0,
    w: 0,
    q: 0,
    r: 0,
    /** blade pitch of the tail rotor */
    pitch: 0,
    /** angular speed of the main rotor */
    speed: 0,
    density: 1.225,
    /** downwash of the main rotor at the fuselage */
    downwash: 0,
  };
  /** of the tail rotor, towards the right, N */
  thrust = 0;
  /** torque it takes from the main gearbox, at main rotor speed, N m */
  torque = 0;
  power = 0;
  fx = 0;
  fy = 0;
  fz = 0;
  mx = 0;
  my = 0;
  mz = 0;
  private inducedVelocity = 0;

  run(dt: number): void {
    this.rotor(dt);
    const { u, v, w, q, r, density, downwash } = this.in;
    const half = density / 2;
    const speed = Math.hypot(u, v, w);
    const below = w - downwash;
    const finForce = -half * fin.area * fin.liftSlope * speed * (v - fin.arm * r);
    const stabiliserForce = -half * stabiliser.area * stabiliser.liftSlope * Math.abs(u) * (w + stabiliser.arm * q);
    this.fx = -half * fuselage.front * u * speed;
    this.fy = -half * fuselage.side * v * speed + finForce + this.thrust;
    this.fz = -half * fuselage.below * below * Math.hypot(u, below) + stabiliserForce;
    this.mx = tailRotor.above * this.thrust;
    this.my = stabiliser.arm * stabiliserForce;
    this.mz = -tailRotor.arm * this.thrust - fin.arm * finForce;
  }

  private rotor(dt: number): void {
    const { v, r, pitch, density } = this.in;
    const speed = Math.max(0.5, this.in.speed * tailRotor.ratio);
    const tip = speed * tailRotor.radius;
    const normal = v - tailRotor.arm * r;
    const pressure = density * tailArea * tip * tip;
    const { solidity, liftSlope } = tailRotor;
    const inflow = (this.inducedVelocity + normal) / tip;
    const coefficient = ((solidity * liftSlope) / 2) * (pitch / 3 - inflow / 2);
    this.thrust = pressure * Math.max(-0.15 * solidity, Math.min(0.15 * solidity, coefficient));
    const flow = Math.hypot(this.in.u, normal + this.inducedVelocity);
    const airMass = 0.637 * (4 / 3) * Math.PI * tailRotor.radius ** 3 * density;
    this.inducedVelocity += (dt * (this.thrust - 2 * density * tailArea * this.inducedVelocity * flow)) / airMass;
    const edgewise = Math.min(0.6, Math.hypot(this.in.u, this.in.w) / tip);
    const profile = ((solidity * tailRotor.drag) / 8) * pressure * tip * (1 + 4.65 * edgewise * edgewise);
    this.power = this.thrust * (tailRotor.inducedLoss * this.inducedVelocity + normal) + profile;
    this.torque = this.power / Math.max(this.in.speed, 0.5);
  }
}
