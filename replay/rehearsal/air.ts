/**
 * The air at Harrowmoss: a troposphere in hydrostatic balance from the day's pressure and temperature at the ground, and
 * a wind with gusts. Constants: ICAO standard atmosphere (Doc 7488).
 */
import { Chance } from './chance.ts';
import type { Day } from './scenario.ts';

/** Specific gas constant of dry air, J/(kg K). */
export const GAS_CONSTANT = 287.05287;
/** Standard acceleration of gravity, m/s2. */
export const GRAVITY = 9.80665;
/** Temperature lapse of the troposphere, K/m. */
export const LAPSE = 0.0065;
export const RATIO_OF_HEATS = 1.4;

/** Harrowmoss lies this far above the sea, metres. */
export const FIELD_ELEVATION = 25;

export class Air {
  /** height above the ground, m; body velocity is not asked: gusts are felt as the air goes by with the wind */
  readonly in = { height: 0, airspeed: 0 };
  pressure = 0;
  temperature = 0;
  density = 0;
  speedOfSound = 0;
  /** wind over the ground, m/s, positive towards north, east and up */
  windNorth = 0;
  windEast = 0;
  windUp = 0;
  private readonly day: Day;
  private readonly chance: Chance;
  private gustNorth = 0;
  private gustEast = 0;
  private gustUp = 0;

  constructor(day: Day, seed: number) {
    this.day = day;
    this.chance = new Chance(seed, 'gusts');
    this.run(0.001);
  }

  run(dt: number): void {
    const { height } = this.in;
    const { pressurePa, temperatureK, windFromDeg, windMps } = this.day;
    this.temperature = temperatureK - LAPSE * height;
    this.pressure = pressurePa * (this.temperature / temperatureK) ** (GRAVITY / (GAS_CONSTANT * LAPSE));
    this.density = this.pressure / (GAS_CONSTANT * this.temperature);
    this.speedOfSound = Math.sqrt(RATIO_OF_HEATS * GAS_CONSTANT * this.temperature);
    this.gust(dt);
    // power law over open ground, full strength at 10 m
    const wind = windMps * Math.min(1.4, (Math.max(height, 0.5) / 10) ** 0.14);
    const from = (windFromDeg * Math.PI) / 180;
    this.windNorth = -wind * Math.cos(from) + this.gustNorth;
    this.windEast = -wind * Math.sin(from) + this.gustEast;
    this.windUp = this.gustUp;
  }

  /** First-order (Dryden-like) gusts: the deviation is the day's, the memory is the time to cross the eddy length. */
  private gust(dt: number): void {
    const sigma = this.day.gustMps;
    const eddy = Math.max(30, Math.min(300, this.in.height * 2));
    const memory = eddy / Math.max(5, this.in.airspeed);
    const keep = Math.exp(-dt / memory);
    const kick = sigma * Math.sqrt(1 - keep * keep);
    // near the ground vertical gusts are smaller
    const upright = Math.min(1, 0.1 + this.in.height / 60);
    this.gustNorth = this.gustNorth * keep + kick * this.chance.normal();
    this.gustEast = this.gustEast * keep + kick * this.chance.normal();
    this.gustUp = this.gustUp * keep + kick * upright * this.chance.normal();
  }
}

/** Height in the standard atmosphere where this pressure belongs, m (Doc 7488, troposphere). */
export const pressureHeight = (pressurePa: number): number =>
  (288.15 / LAPSE) * (1 - (pressurePa / 101_325) ** ((GAS_CONSTANT * LAPSE) / GRAVITY));

/** Pitot minus static pressure, Pa, subsonic. */
export const impactPressure = (airspeedMps: number, speedOfSound: number, pressurePa: number): number =>
  pressurePa * ((1 + 0.2 * (airspeedMps / speedOfSound) ** 2) ** 3.5 - 1);

/** Calibrated airspeed, m/s: the speed that would give this impact pressure at sea level, standard day. */
export const calibratedAirspeed = (impactPa: number): number =>
  340.294 * Math.sqrt(5 * ((Math.max(0, impactPa) / 101_325 + 1) ** (1 / 3.5) - 1));
