/**
 * Standard atmosphere and airspeeds. SI units throughout: Pa, K, m, kg/m^3, m/s; altitudes are geopotential metres.
 *
 * Sources: ICAO Doc 7488/3 (1993), Manual of the ICAO Standard Atmosphere, sections 2 and 3 (the same model as
 * ISO 2533:1975 and, up to 32 km, the US Standard Atmosphere 1976); airspeeds as in NASA RP-1046 (W. Gracey, 1980) and
 * SFTE Reference Handbook (2013), section 4. Each function gives NaN outside the range it holds for.
 */

/** sea-level temperature, K */
export const T0 = 288.15;
/** sea-level pressure, Pa */
export const P0 = 101_325;
/** standard gravity, m/s^2 */
export const G0 = 9.80665;
/** gas constant of dry air, J/(kg K) */
export const R_AIR = 287.05287;
/** ratio of specific heats of air */
export const GAMMA = 1.4;
/** sea-level density, kg/m^3: 1.225 to six digits */
export const RHO0 = P0 / (R_AIR * T0);
/** sea-level speed of sound, m/s */
export const A0 = Math.sqrt(GAMMA * R_AIR * T0);

/** temperature falls by this much a metre up to the tropopause, K/m */
const LAPSE = 0.0065;
/** geopotential altitudes between which the two layers used here are defined, m */
const LOWEST = -5_000;
const TROPOPAUSE = 11_000;
const HIGHEST = 20_000;
const T11 = T0 - LAPSE * TROPOPAUSE;
/** pressure = P0 (T / T0)^EXPONENT below the tropopause */
const EXPONENT = G0 / (R_AIR * LAPSE);
const P11 = P0 * (T11 / T0) ** EXPONENT;
const RHO11 = P11 / (R_AIR * T11);
/** height over which pressure falls by e in the layer of constant temperature, m */
const SCALE_HEIGHT = (R_AIR * T11) / G0;
/** radius that geopotential altitudes are defined with, m */
const EARTH_RADIUS = 6_356_766;

/** qc / p at Mach 1: where the subsonic pitot formula ends */
const SONIC_RATIO = 1.2 ** 3.5 - 1;

/** Geopotential altitude (m) of a geometric one (m). */
export const geopotentialAltitude = (geometric: number): number =>
  (EARTH_RADIUS * geometric) / (EARTH_RADIUS + geometric);

/** Standard temperature, K, at a geopotential altitude of -5,000 to 20,000 m. */
export function standardTemperature(altitude: number): number {
  if (!(altitude >= LOWEST && altitude <= HIGHEST)) return Number.NaN;
  return altitude <= TROPOPAUSE ? T0 - LAPSE * altitude : T11;
}

/** Standard pressure, Pa, at a geopotential altitude of -5,000 to 20,000 m. */
export function standardPressure(altitude: number): number {
  if (!(altitude >= LOWEST && altitude <= HIGHEST)) return Number.NaN;
  if (altitude <= TROPOPAUSE) return P0 * (1 - (LAPSE / T0) * altitude) ** EXPONENT;
  return P11 * Math.exp((TROPOPAUSE - altitude) / SCALE_HEIGHT);
}

/** Standard density, kg/m^3, at a geopotential altitude of -5,000 to 20,000 m. */
export const standardDensity = (altitude: number): number =>
  standardPressure(altitude) / (R_AIR * standardTemperature(altitude));

const HIGHEST_PRESSURE = P0 * (1 - (LAPSE / T0) * LOWEST) ** EXPONENT;
const LOWEST_PRESSURE = P11 * Math.exp((TROPOPAUSE - HIGHEST) / SCALE_HEIGHT);

/** Pressure altitude, m: where the standard atmosphere has this static pressure (Pa). */
export function pressureAltitude(pressure: number): number {
  if (!(pressure >= LOWEST_PRESSURE && pressure <= HIGHEST_PRESSURE)) return Number.NaN;
  if (pressure >= P11) return (T0 / LAPSE) * (1 - (pressure / P0) ** (1 / EXPONENT));
  return TROPOPAUSE - SCALE_HEIGHT * Math.log(pressure / P11);
}

/** Density of dry air, kg/m^3, from static pressure (Pa) and static temperature (K): ideal gas. */
export function airDensity(pressure: number, temperature: number): number {
  if (!(pressure > 0 && temperature > 0)) return Number.NaN;
  return pressure / (R_AIR * temperature);
}

/** Altitude, m, at which the standard atmosphere has this density (kg/m^3): its definition, not the 120 ft a degree rule. */
export function densityAltitudeOf(density: number): number {
  if (!(density > 0)) return Number.NaN;
  const altitude =
    density >= RHO11
      ? (T0 / LAPSE) * (1 - (density / RHO0) ** (1 / (EXPONENT - 1)))
      : TROPOPAUSE - SCALE_HEIGHT * Math.log(density / RHO11);
  return altitude >= LOWEST && altitude <= HIGHEST ? altitude : Number.NaN;
}

/** Density altitude, m, from static pressure (Pa) and static temperature (K). */
export const densityAltitude = (pressure: number, temperature: number): number =>
  densityAltitudeOf(airDensity(pressure, temperature));

/** Speed of sound, m/s, at a static temperature (K). */
export const speedOfSound = (temperature: number): number => Math.sqrt(GAMMA * R_AIR * temperature);

/** Mach number from impact over static pressure, subsonic: M^2 = 5 ((qc/p + 1)^(2/7) - 1). */
function machOf(ratio: number): number {
  const size = Math.abs(ratio);
  if (!(size <= SONIC_RATIO)) return Number.NaN;
  // expm1 and log1p keep the small ratios of low speed exact: 1 + ratio would drop their last digits
  const mach = Math.sqrt(5 * Math.expm1((2 / 7) * Math.log1p(size)));
  return ratio < 0 ? -mach : mach;
}

/** Impact over static pressure from Mach number, subsonic. */
function ratioOf(mach: number): number {
  const size = Math.abs(mach);
  if (!(size <= 1)) return Number.NaN;
  const ratio = Math.expm1(3.5 * Math.log1p(0.2 * size * size));
  return mach < 0 ? -ratio : ratio;
}

/**
 * Calibrated airspeed, m/s, from impact pressure (total minus static, Pa), subsonic. A negative impact pressure (sensor
 * noise at rest, wind from behind) gives a negative airspeed of the same size, so that noise about zero stays centred.
 */
export const calibratedAirspeed = (impact: number): number => A0 * machOf(impact / P0);

/** Impact pressure, Pa, from calibrated airspeed (m/s), subsonic. */
export const impactPressure = (calibrated: number): number => P0 * ratioOf(calibrated / A0);

/** Mach number from calibrated airspeed (m/s) and static pressure (Pa), subsonic. */
export function machNumber(calibrated: number, pressure: number): number {
  if (!(pressure > 0)) return Number.NaN;
  return machOf(impactPressure(calibrated) / pressure);
}

/** Equivalent airspeed, m/s, from calibrated airspeed (m/s) and static pressure (Pa): M a0 sqrt(p / p0). */
export const equivalentAirspeed = (calibrated: number, pressure: number): number =>
  machNumber(calibrated, pressure) * A0 * Math.sqrt(pressure / P0);

/** True airspeed, m/s, from calibrated airspeed (m/s), static pressure (Pa), static temperature (K): M a. */
export const trueAirspeed = (calibrated: number, pressure: number, temperature: number): number =>
  machNumber(calibrated, pressure) * speedOfSound(temperature);

/** True airspeed, m/s, from equivalent airspeed (m/s) and air density (kg/m^3): EAS / sqrt(sigma). */
export const trueFromEquivalent = (equivalent: number, density: number): number =>
  equivalent / Math.sqrt(density / RHO0);

/** Total temperature, K, from static temperature (K), Mach number and recovery factor (1 = all of it). */
export const totalTemperature = (temperature: number, mach: number, recovery: number): number =>
  temperature * (1 + 0.2 * recovery * mach * mach);

/** Static temperature, K, from total temperature (K), Mach number and recovery factor (1 = all of it). */
export const staticTemperature = (total: number, mach: number, recovery: number): number =>
  total / (1 + 0.2 * recovery * mach * mach);

/** Mach number from total and static pressure (Pa), subsonic. */
export const machFromPressures = (total: number, pressure: number): number =>
  pressure > 0 ? machOf((total - pressure) / pressure) : Number.NaN;

/**
 * Static pressure, Pa, freed of the position error: p - (qc(V + dV) - qc(V)), from the static pressure p of the source,
 * the indicated airspeed V it gives and the correction dV to be added to it (m/s); total pressure taken as right. SFTE
 * Reference Handbook (2013), section 4: the error of altitude and that of airspeed are one error of static pressure.
 */
export const correctedStaticPressure = (pressure: number, indicated: number, correction: number): number =>
  pressure - (impactPressure(indicated + correction) - impactPressure(indicated));

/**
 * Altitude, m, that an altimeter set to `setting` (Pa) shows at a static pressure (Pa): the standard atmosphere moved until
 * the setting is its pressure at zero. QNH as setting gives the height above the sea, near the field that tells it.
 */
export const indicatedAltitude = (pressure: number, setting: number): number =>
  pressureAltitude(pressure) - pressureAltitude(setting);

/**
 * Density of moist air, kg/m^3, from static pressure (Pa), static temperature and dew point (K): ideal gas at the virtual
 * temperature. Vapour pressure by the Magnus form of the US National Weather Service, 6.11 hPa 10^(7.5 t / (237.7 + t)),
 * t in degC, dew points of about -60 to 40 degC.
 */
export function moistAirDensity(pressure: number, temperature: number, dewPoint: number): number {
  const t = dewPoint - 273.15;
  const vapour = 611 * 10 ** ((7.5 * t) / (237.7 + t));
  if (!(vapour >= 0 && vapour < pressure)) return Number.NaN;
  // 0.622 = ratio of the molar masses of water and dry air
  return airDensity(pressure, temperature / (1 - (vapour / pressure) * (1 - 0.622)));
}

/** Density altitude, m, of moist air. */
export const moistDensityAltitude = (pressure: number, temperature: number, dewPoint: number): number =>
  densityAltitudeOf(moistAirDensity(pressure, temperature, dewPoint));

const FOOT = 0.3048;
/** Pascals of an inch of mercury at 0 degC */
const INCH_OF_MERCURY = 3386.389;

/**
 * Rule of thumb of the cockpit (FAA-H-8083-25): 120 ft a degree from the standard temperature, itself 15 degC less 1.98 a
 * thousand feet. Metres from pressure altitude (m) and static temperature (K); off by 100 ft and more on a hot day, so it
 * is for comparing with a crew's card and for nothing else.
 */
export function densityAltitudeByRule(altitude: number, temperature: number): number {
  const standard = T0 - (1.98 * altitude) / (1000 * FOOT);
  return altitude + 120 * FOOT * (temperature - standard);
}

/** Rule of thumb: 1000 ft an inch of mercury. Pressure altitude, m, of a field's elevation (m) and setting (Pa). */
export const pressureAltitudeByRule = (elevation: number, setting: number): number =>
  elevation + 1000 * FOOT * (29.92 - setting / INCH_OF_MERCURY);

/** 1.2^3.5 6^2.5: what the supersonic pitot formula begins with */
export const RAYLEIGH = 1.2 ** 3.5 * 6 ** 2.5;

/**
 * Impact over static pressure behind the bow wave of a pitot tube, from a Mach number of 1 or more (Rayleigh; NASA
 * RP-1046): 166.92 M^7 / (7 M^2 - 1)^2.5 - 1. NaN below 1.
 */
export const supersonicImpactRatio = (mach: number): number =>
  mach >= 1 ? (RAYLEIGH * mach ** 7) / (7 * mach * mach - 1) ** 2.5 - 1 : Number.NaN;
