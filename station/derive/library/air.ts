/** Functions of the air: standard atmosphere, airspeeds, wind. */
import * as air from '../../compute/air-data.ts';
import * as wind from '../../compute/wind.ts';
import { arg, type FormulaFunction, plain } from '../function.ts';

const pressure = arg('static pressure', 'Pa');
const temperature = arg('static temperature', 'K');
const airspeed = arg('calibrated airspeed', 'm/s');
const altitude = arg('altitude', 'm');
const recovery = { name: 'recovery', unit: '1', setting: { from: 0.5, to: 1, otherwise: 1 } };

const icao = 'ICAO Doc 7488/3, standard atmosphere';
const pitot = 'NASA RP-1046, subsonic pitot equation';
const heat = 'SFTE Reference Handbook (2013), section 4';
const layers = 'geopotential, -5,000 to 20,000 m';
const triangle = 'vector triangle: ground = air + wind';

export const airFunctions: readonly FormulaFunction[] = [
  plain('standard_temperature', [altitude], 'K', air.standardTemperature, {
    summary: 'T of the standard atmosphere',
    detail: layers,
    source: icao,
  }),
  plain('standard_pressure', [altitude], 'Pa', air.standardPressure, {
    summary: 'p of the standard atmosphere',
    detail: layers,
    source: icao,
  }),
  plain('standard_density', [altitude], 'kg/m^3', air.standardDensity, {
    summary: 'density of the standard atmosphere',
    detail: layers,
    source: icao,
  }),
  plain('geopotential', [arg('geometric altitude', 'm')], 'm', air.geopotentialAltitude, {
    summary: 'geopotential altitude',
    source: icao,
  }),
  plain('pressure_altitude', [pressure], 'm', air.pressureAltitude, {
    summary: 'altitude of that pressure in the standard atmosphere',
    detail: layers,
    source: icao,
  }),
  plain('density', [pressure, temperature], 'kg/m^3', air.airDensity, {
    summary: 'density of dry air',
    source: 'ideal gas, R = 287.05287 J/(kg K)',
  }),
  plain('density_altitude', [pressure, temperature], 'm', air.densityAltitude, {
    summary: 'altitude of that density in the standard atmosphere',
    detail: layers,
    source: icao,
  }),
  plain('speed_of_sound', [temperature], 'm/s', air.speedOfSound, {
    summary: 'a of dry air',
    source: 'a^2 = 1.4 R T',
  }),
  plain('calibrated_airspeed', [arg('impact pressure', 'Pa')], 'm/s', air.calibratedAirspeed, {
    summary: 'CAS',
    detail: 'impact pressure = total less static; up to Mach 1; a negative pressure gives a negative speed',
    source: pitot,
  }),
  plain('impact_pressure', [airspeed], 'Pa', air.impactPressure, {
    summary: 'qc of a calibrated airspeed',
    detail: 'up to Mach 1 at sea level',
    source: pitot,
  }),
  plain('equivalent_airspeed', [airspeed, pressure], 'm/s', air.equivalentAirspeed, {
    summary: 'EAS from CAS',
    source: pitot,
  }),
  plain('true_airspeed', [airspeed, pressure, temperature], 'm/s', air.trueAirspeed, {
    summary: 'TAS from CAS',
    source: pitot,
  }),
  plain(
    'true_from_equivalent',
    [arg('equivalent airspeed', 'm/s'), arg('density', 'kg/m^3')],
    'm/s',
    air.trueFromEquivalent,
    {
      summary: 'TAS from EAS',
      source: 'EAS / sqrt(sigma)',
    },
  ),
  plain('mach', [airspeed, pressure], '1', air.machNumber, { summary: 'Mach number from CAS', source: pitot }),
  plain('mach_from_pressures', [arg('total pressure', 'Pa'), pressure], '1', air.machFromPressures, {
    summary: 'Mach number from total and static pressure',
    detail: 'up to Mach 1',
    source: pitot,
  }),
  plain(
    'corrected_static',
    [pressure, arg('indicated airspeed', 'm/s'), arg('correction', 'm/s')],
    'Pa',
    air.correctedStaticPressure,
    {
      summary: 'static pressure freed of the position error that needs this correction of airspeed',
      detail: 'correction: to be added to the indicated airspeed, usually table(NAME, indicated airspeed)',
      source: heat,
    },
  ),
  plain('total_temperature', [temperature, arg('Mach', '1'), recovery], 'K', air.totalTemperature, {
    summary: 'Tt from static temperature',
    source: heat,
  }),
  plain('static_temperature', [arg('total temperature', 'K'), arg('Mach', '1'), recovery], 'K', air.staticTemperature, {
    summary: 'T from total temperature',
    source: heat,
  }),
  plain('wind_speed', triangleArguments(), 'm/s', wind.windSpeed, {
    summary: 'speed of the wind, from the motion through the air and over the ground',
    detail: 'flown without sideslip; true directions',
    source: triangle,
  }),
  plain('wind_direction', triangleArguments(), 'deg', wind.windDirection, {
    summary: 'direction the wind comes from, 0 to 360 deg',
    detail: 'as wind_speed; no value below 0.1 m/s',
    source: triangle,
  }),
  plain('headwind', windArguments(), 'm/s', wind.headwind, {
    summary: 'wind against the nose; negative from behind',
    source: triangle,
  }),
  plain('crosswind', windArguments(), 'm/s', wind.crosswind, {
    summary: 'wind across; positive from the right',
    source: triangle,
  }),
];

function triangleArguments() {
  return [arg('true airspeed', 'm/s'), arg('heading', 'deg'), arg('ground speed', 'm/s'), arg('track', 'deg')];
}

function windArguments() {
  return [arg('wind speed', 'm/s'), arg('wind direction', 'deg'), arg('heading', 'deg')];
}
