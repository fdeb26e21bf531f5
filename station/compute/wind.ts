/**
 * Wind from the motion through the air and over the ground. Speeds in m/s, directions in degrees from true north; wind
 * comes from its direction. Source: the vector triangle of navigation, ground = air + wind.
 */
import { fullTurn } from './angle.ts';

/** Slower than this (m/s), wind has no direction that means anything. */
const CALM = 0.1;

const radians = (degrees: number): number => (degrees * Math.PI) / 180;

/** Component of the wind towards north or east: of the ground vector less the air vector. */
function towards(
  of: (angle: number) => number,
  airspeed: number,
  heading: number,
  groundSpeed: number,
  track: number,
): number {
  return groundSpeed * of(radians(track)) - airspeed * of(radians(heading));
}

/** Wind speed, m/s, from true airspeed and the heading flown in it (no sideslip), ground speed and track. */
export function windSpeed(airspeed: number, heading: number, groundSpeed: number, track: number): number {
  const north = towards(Math.cos, airspeed, heading, groundSpeed, track);
  const east = towards(Math.sin, airspeed, heading, groundSpeed, track);
  return Math.sqrt(north * north + east * east);
}

/** Direction the wind comes from, 0 to 360 degrees; NaN below 0.1 m/s. */
export function windDirection(airspeed: number, heading: number, groundSpeed: number, track: number): number {
  const north = towards(Math.cos, airspeed, heading, groundSpeed, track);
  const east = towards(Math.sin, airspeed, heading, groundSpeed, track);
  if (!(Math.sqrt(north * north + east * east) >= CALM)) return Number.NaN;
  return fullTurn((Math.atan2(-east, -north) * 180) / Math.PI);
}

/** Wind against the nose, m/s; negative from behind. */
export const headwind = (speed: number, direction: number, heading: number): number =>
  speed * Math.cos(radians(direction - heading));

/** Wind across, m/s; positive from the right. */
export const crosswind = (speed: number, direction: number, heading: number): number =>
  speed * Math.sin(radians(direction - heading));
