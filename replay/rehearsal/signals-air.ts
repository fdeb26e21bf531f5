/** Air data, navigation and radio height, 50 samples a second. */
import { FIELD_ELEVATION, pressureHeight } from './air.ts';
import type { Signals } from './signal.ts';

const KNOT = 1852 / 3600;
const FOOT = 0.3048;
const degrees = 180 / Math.PI;

/** Harrowmoss is invented. So that nobody takes it for a real field, its datum is a point in the open Atlantic. */
export const HARROWMOSS = { latitude: 56.5, longitude: -14 };
/** Metres a degree of latitude there; the ground is flat as far as we fly, and longitude shrinks with the cosine. */
const METRES = 111_320;
const METRES_EAST = METRES * Math.cos((HARROWMOSS.latitude * Math.PI) / 180);

export const airSignals: Signals = {
  P_STATIC: { unit: 'hPa', noise: 0.03, read: (a) => a.air.pressure / 100 },
  P_IMPACT: { unit: 'Pa', noise: 2.5, read: (a) => a.impact },
  OAT: { unit: 'degC', noise: 0.05, read: (a) => a.air.temperature - 273.15 },
  ALT_PRESSURE: { unit: 'ft', noise: 0.8, read: (a) => pressureHeight(a.air.pressure) / FOOT },
  CLIMB_RATE: { unit: 'ft/min', noise: 6, read: (a) => (a.body.climb / FOOT) * 60 },
  RADIO_HEIGHT: { unit: 'ft', noise: 0.15, read: (a) => a.skidHeight / FOOT },
  SIDESLIP: {
    unit: 'deg',
    noise: 0.4,
    read: (a) => (Math.hypot(a.airU, a.airV) > 8 ? Math.atan2(a.airV, Math.max(4, a.airU)) * degrees : 0),
  },
  LATITUDE: { unit: 'deg', noise: 2e-6, read: (a) => HARROWMOSS.latitude + a.body.north / METRES },
  LONGITUDE: { unit: 'deg', noise: 3e-6, read: (a) => HARROWMOSS.longitude + a.body.east / METRES_EAST },
  GPS_HEIGHT: { unit: 'm', noise: 0.25, read: (a) => FIELD_ELEVATION + a.skidHeight },
  VEL_NORTH: { unit: 'm/s', noise: 0.02, read: (a) => a.body.velocityNorth },
  VEL_EAST: { unit: 'm/s', noise: 0.02, read: (a) => a.body.velocityEast },
  VEL_UP: { unit: 'm/s', noise: 0.03, read: (a) => a.body.climb },
  GROUND_SPEED: {
    unit: 'kt',
    noise: 0.05,
    read: (a) => Math.hypot(a.body.velocityNorth, a.body.velocityEast) / KNOT,
  },
  TRACK: {
    unit: 'deg',
    noise: 0,
    read: (a) => (Math.atan2(a.body.velocityEast, a.body.velocityNorth) * degrees + 360) % 360,
  },
  FUEL_FLOW: { unit: 'kg/h', noise: 0.4, read: (a) => a.engine.burning },
};
