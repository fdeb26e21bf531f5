/**
 * Oil of the main gearbox: friction heats it, a cooler with a thermostat takes the heat away. In a hover the cooler's fan
 * is all there is; with the wind from behind it breathes exhaust gas and cools next to nothing.
 */
const OIL_HEAT = 15_000; // J/K of oil and what is wetted by it
/** share of the power that becomes heat in the oil, and watts of churning at 100 % NR */
const LOSS = 0.022;
const CHURNING = 900;

export class Gearbox {
  readonly in = {
    /** W through the gearbox */
    power: 0,
    /** rotor speed over 100 % */
    nr: 0,
    /** m/s of air from ahead (negative from behind) */
    headwind: 0,
    ambientK: 288,
  };
  oilK: number;
  /** bar */
  oilPressure = 0;
  /** W/K the cooler takes now */
  cooling = 0;

  constructor(oilK: number) {
    this.oilK = oilK;
  }

  run(dt: number): void {
    const { power, nr, headwind, ambientK } = this.in;
    const heat = LOSS * Math.max(0, power) + CHURNING * nr ** 3;
    const open = Math.max(0, Math.min(1, (this.oilK - 348) / 20));
    const clean = Math.max(0, Math.min(1, (headwind + 3) / 5));
    const ram = Math.max(0, headwind);
    const aim = open * nr * clean * (62 + 5.5 * ram);
    // the cooler and what it breathes need some seconds to change
    this.cooling += (dt / 3) * (aim - this.cooling);
    this.oilK += (dt / OIL_HEAT) * (heat - this.cooling * (this.oilK - ambientK) - 4 * (this.oilK - ambientK));
    const thin = 1 - 0.004 * (this.oilK - 353);
    this.oilPressure += dt * 2 * (3.6 * Math.min(1, nr / 0.6) * thin - this.oilPressure);
  }
}
