/**
 * Single free-turbine engine: a gas generator that fuel speeds up and a power turbine that drives the rotor. The energy
 * of the fuel leaves as shaft power or as heat in the exhaust, so the turbine outlet temperature follows from the rest.
 * Sizes are those of our invented engine: 300 kW at 100 % torque and rotor speed.
 */
export const engineShape = {
  /** W at 100 % TQ and 100 % NR */
  ratedPower: 300_000,
  /** J/kg, and the share of it that burns */
  fuelHeat: 43.1e6,
  combustion: 0.985,
  /** J/(kg K) of the exhaust */
  exhaustHeat: 1100,
  /** kg/s through the engine at 100 % N1, sea level */
  airFlow: 1.54,
};

/** Fuel in kg/h that holds this gas generator speed. */
const holdingFuel = (n1: number): number => 133 * n1 ** 2.854;

/** Fuel in kg/h that heats the exhaust by this much at this gas generator speed, beside the power taken off in W. */
export const fuelForRise = (n1: number, riseK: number, densityRatio: number, power: number): number =>
  ((airFlow(n1, densityRatio) * engineShape.exhaustHeat * riseK + power) * 3600) /
  (engineShape.fuelHeat * engineShape.combustion);

const airFlow = (n1: number, densityRatio: number): number =>
  engineShape.airFlow * densityRatio * Math.max(n1, 0.05) ** 1.5;

export class Engine {
  readonly in = {
    /** kg/h from the fuel control */
    fuelFlow: 0,
    starter: false,
    ignition: false,
    /** power turbine speed over its speed at 100 % NR */
    n2: 0,
    ambientK: 288,
    densityRatio: 1,
  };
  /** gas generator speed over its rated speed */
  n1 = 0;
  lit = false;
  /** true: it goes out and stays out */
  failed = false;
  /** kg/h that burns */
  burning = 0;
  /** power of the power turbine at 100 % N2, W */
  turbinePower = 0;
  /** as the thermocouples feel it, K */
  outletK: number;
  oilK: number;
  /** bar */
  oilPressure = 0;
  /** compressor delivery pressure over ambient */
  pressureRatio = 1;
  private metalK: number;
  private wet = 0;

  constructor(ambientK: number) {
    this.outletK = ambientK + 8;
    this.metalK = ambientK + 8;
    this.oilK = ambientK + 5;
  }

  /** Torque of the power turbine at main rotor speed, N m: falls straight from twice the rated one at standstill. */
  torqueAt(n2: number, ratedSpeed: number): number {
    return (this.turbinePower / ratedSpeed) * Math.max(0, 2 - n2);
  }

  run(dt: number): void {
    const { fuelFlow, starter, ignition, n2, ambientK, densityRatio } = this.in;
    // fuel needs air, a spark and most of a second to light; it burns on by itself
    this.wet = fuelFlow > 1 && ignition && this.n1 > 0.1 ? this.wet + dt : 0;
    if (this.wet > 0.8) this.lit = true;
    if (this.failed || fuelFlow < 1) this.lit = false;
    this.burning = this.lit ? fuelFlow : 0;
    const excess = this.burning - holdingFuel(this.n1);
    let change = this.lit ? (0.0012 + 0.0035 * this.n1) * excess : -0.05 * this.n1 - 0.003;
    if (starter) change += 0.075 * Math.max(0, 1 - this.n1 / 0.5);
    this.n1 = Math.max(0, this.n1 + dt * change);
    // below idle the gas only just turns the rotor; without fire there is no hot gas at all
    const hot = Math.max(6000 * this.n1 ** 2, ((holdingFuel(this.n1) * densityRatio - 27) / 0.354) * 1000);
    this.turbinePower = this.lit ? hot : 0;
    this.temperatures(dt, ambientK, densityRatio, this.turbinePower * n2 * Math.max(0, 2 - n2));
    this.pressureRatio = 1 + 5.6 * this.n1 ** 2;
    const thin = 1 - 0.0035 * (this.oilK - 353);
    this.oilPressure += dt * 2 * (4.6 * Math.min(1, this.n1 / 0.55) * thin - this.oilPressure);
  }

  private temperatures(dt: number, ambientK: number, densityRatio: number, power: number): void {
    const { fuelHeat, combustion, exhaustHeat } = engineShape;
    const heat = (this.burning / 3600) * fuelHeat * combustion - (this.lit ? power : 0);
    const rise = heat / (airFlow(this.n1, densityRatio) * exhaustHeat);
    const gas = this.lit ? ambientK + Math.max(0, rise) : ambientK + 0.55 * (this.metalK - ambientK);
    this.metalK += (dt / 40) * (gas - this.metalK);
    this.outletK += (dt / (this.lit ? 0.9 : 6)) * (gas - this.outletK);
    const oilAim = ambientK + 68 * Math.min(1, this.n1) ** 1.5;
    this.oilK += (dt / 90) * (oilAim - this.oilK);
  }
}
