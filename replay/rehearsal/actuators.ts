/**
 * Four electromechanical actuators, in the order of their numbers: 1 longitudinal, 2 lateral, 3 collective, 4 tail rotor.
 * Each follows its command as a second-order system with a rate limit. Positions in per cent of travel.
 */
export const ACTUATORS = 4;
const naturalFrequency = 45; // rad/s
const dampingRatio = 0.8;
const rateLimit = 95; // per cent of travel a second

/** Per cent of travel to swashplate and blade angles, degrees at 0 and 100 %. */
const travel = [
  { low: -10, high: 10 }, // aft positive
  { low: -7.5, high: 7.5 }, // right positive
  { low: 0, high: 15 },
  { low: -8, high: 22 },
];

export class Actuators {
  /** per cent of travel */
  readonly command = new Float64Array([50, 50, 0, 40]);
  readonly position = new Float64Array([50, 50, 0, 40]);
  readonly rate = new Float64Array(ACTUATORS);
  /** A */
  readonly current = new Float64Array(ACTUATORS);
  readonly temperatureK = new Float64Array(ACTUATORS);
  /** true: it stays where it is, whatever it is told */
  readonly jammed = [false, false, false, false];

  constructor(ambientK: number) {
    this.temperatureK.fill(ambientK);
  }

  /** `load`: share of the full air load, 0 to about 1. */
  run(dt: number, load: number): void {
    for (let i = 0; i < ACTUATORS; i++) {
      const error = this.command[i]! - this.position[i]!;
      const pull = naturalFrequency ** 2 * error - 2 * dampingRatio * naturalFrequency * this.rate[i]!;
      const before = this.rate[i]!;
      const rate = this.jammed[i] ? 0 : Math.max(-rateLimit, Math.min(rateLimit, before + dt * pull));
      this.rate[i] = rate;
      this.position[i] = Math.max(0, Math.min(100, this.position[i]! + dt * rate));
      const aim = 0.4 + 1.1 * load + 0.045 * Math.abs(rate) + (this.jammed[i] ? Math.min(9, Math.abs(error)) : 0);
      this.current[i] = this.current[i]! + dt * 30 * (aim - this.current[i]!);
      this.temperatureK[i] =
        this.temperatureK[i]! + dt * (0.004 * this.current[i]! ** 2 - 0.0009 * (this.temperatureK[i]! - 288));
    }
  }

  /** Angle of an actuator's output, radians. */
  angle(index: number): number {
    const { low, high } = travel[index]!;
    return ((low + ((high - low) * this.position[index]!) / 100) * Math.PI) / 180;
  }
}

/** Per cent of travel of an actuator that gives this angle in radians. */
export const travelFor = (index: number, angle: number): number => {
  const { low, high } = travel[index]!;
  return (((angle * 180) / Math.PI - low) / (high - low)) * 100;
};
