/**
 * Rotor: momentum theory, coefficients, referred quantities, vortex ring. SI units: N, kg, m, m/s, rad/s, W, Pa, K; vertical
 * speeds are positive upwards. Each function gives NaN outside the range it holds for.
 *
 * Sources: momentum theory and coefficients as in J. G. Leishman, Principles of Helicopter Aerodynamics, 2nd ed., chapter
 * 2 (H. Glauert for level flight); others beside their function. Rotorcraft convention: CT = T / (rho A Vtip^2).
 */
import { P0, speedOfSound, T0 } from './air-data.ts';

/** Disc area A, m^2, of a rotor of this radius R (m, above 0): pi R^2. */
export const discArea = (radius: number): number => (radius > 0 ? Math.PI * radius * radius : Number.NaN);

/** Speed of the blade tip Vtip, m/s, from rotor speed (rad/s) and radius R (m, above 0): Omega R. */
export const tipSpeed = (rotorSpeed: number, radius: number): number => (radius > 0 ? rotorSpeed * radius : Number.NaN);

/** Solidity sigma of a rotor of equal blades: blade area over disc area, N c / (pi R); chord c and radius R in m. */
export const solidity = (blades: number, chord: number, radius: number): number =>
  radius > 0 ? (blades * chord) / (Math.PI * radius) : Number.NaN;

/** Frequency, Hz, of `order` times a turn of the rotor (rad/s). */
export const orderFrequency = (order: number, rotorSpeed: number): number => (order * rotorSpeed) / (2 * Math.PI);

/** rho A Vtip^2, N: what thrust is divided by. NaN for a rotor that does not turn. */
function thrustUnit(density: number, rotorSpeed: number, radius: number): number {
  const tip = tipSpeed(rotorSpeed, radius);
  return density > 0 && tip > 0 ? density * discArea(radius) * tip * tip : Number.NaN;
}

/** Thrust coefficient CT = T / (rho A Vtip^2); usually 0 to 0.02. */
export const thrustCoefficient = (thrust: number, density: number, rotorSpeed: number, radius: number): number =>
  thrust / thrustUnit(density, rotorSpeed, radius);

/** Power coefficient CP = P / (rho A Vtip^3); usually 0 to 0.002. */
export const powerCoefficient = (power: number, density: number, rotorSpeed: number, radius: number): number =>
  power / (thrustUnit(density, rotorSpeed, radius) * tipSpeed(rotorSpeed, radius));

/** Advance ratio mu = V / Vtip; usually 0 to 0.4. */
export function advanceRatio(airspeed: number, rotorSpeed: number, radius: number): number {
  const tip = tipSpeed(rotorSpeed, radius);
  return tip > 0 ? airspeed / tip : Number.NaN;
}

/** Mach number of the advancing tip: (Vtip + V) / a; usually up to 0.9. */
export const advancingTipMach = (airspeed: number, rotorSpeed: number, radius: number, temperature: number): number =>
  (tipSpeed(rotorSpeed, radius) + airspeed) / speedOfSound(temperature);

/** Induced velocity in the hover vh, m/s: sqrt(T / (2 rho A)), T in N and not negative. */
export const hoverInducedVelocity = (thrust: number, density: number, radius: number): number =>
  thrust >= 0 && density > 0 ? Math.sqrt(thrust / (2 * density * discArea(radius))) : Number.NaN;

/** Ideal power in the hover, W: T vh. */
export const idealHoverPower = (thrust: number, density: number, radius: number): number =>
  thrust * hoverInducedVelocity(thrust, density, radius);

/** Induced velocity, m/s, in level flight at speed V (m/s), disc edgewise: vi^2 = -V^2/2 + sqrt(V^4/4 + vh^4). */
export function levelInducedVelocity(airspeed: number, hover: number): number {
  if (!(hover >= 0)) return Number.NaN;
  const half = (airspeed * airspeed) / 2;
  const fourth = hover ** 4;
  // the same as sqrt(-half + sqrt(half^2 + vh^4)), without the difference of two large numbers at speed
  return fourth === 0 ? 0 : Math.sqrt(fourth / (half + Math.sqrt(half * half + fourth)));
}

/**
 * Induced velocity over vh in a descent of up to 2 vh, at Vz / vh from -2 to 0: quartic fit of measurements, Leishman chapter
 * 2. The coefficients are from memory, not seen in a public copy.
 */
export const descentFit = (x: number): number => 1 + x * (-1.125 + x * (-1.372 + x * (-1.718 + x * -0.655)));

/**
 * Induced velocity, m/s, in vertical flight at this speed (m/s, up positive). Climb, and windmill state beyond 2 vh of
 * descent: momentum theory. Between: no theory holds; the fit above.
 */
export function axialInducedVelocity(verticalSpeed: number, hover: number): number {
  if (!(hover > 0)) return Number.NaN;
  const x = verticalSpeed / hover;
  if (x >= 0) return hover * (Math.sqrt((x * x) / 4 + 1) - x / 2);
  if (x <= -2) return hover * (-x / 2 - Math.sqrt((x * x) / 4 - 1));
  return hover * descentFit(x);
}

/**
 * Region of unstable descent, W. Johnson, NASA/TP-2005-213477, stability boundary: in a vertical descent it reaches from
 * 0.45 to 1.5 vh, and it closes at 0.95 vh of forward speed. The parameters are from a secondary
 * source that cites the report.
 */
const RING_UPPER = -0.45;
const RING_LOWER = -1.5;
export const RING_SPEED = 0.95;

/** Upper edge (less descent) of the unstable region, Vz/vh, at Vx/vh; NaN where there is none. */
export const ringUpperEdge = (forward: number): number => ringEdge(forward, 0.2, 1);

/** Lower edge (more descent) of the unstable region, Vz/vh, at Vx/vh; NaN where there is none. */
export const ringLowerEdge = (forward: number): number => ringEdge(forward, 1.5, -1);

function ringEdge(forward: number, exponent: number, side: 1 | -1): number {
  const x = forward / RING_SPEED;
  if (!(Math.abs(x) <= 1)) return Number.NaN;
  return 0.5 * (RING_UPPER + RING_LOWER) + side * 0.5 * (RING_UPPER - RING_LOWER) * (1 - x * x) ** exponent;
}

/** Vertical over hover induced velocity, Vz/vh; negative in a descent. */
export const descentRatio = (verticalSpeed: number, hover: number): number =>
  hover > 0 ? verticalSpeed / hover : Number.NaN;

/**
 * How much further the descent may go before the unstable region, in vh: Vz/vh less the upper edge at this forward speed
 * (m/s through the air). 0 at the edge, negative in the region and below it. Where forward speed is beyond the region
 * there is no edge; the middle of its last point then counts, so that the margin neither jumps nor ends.
 */
export function vortexRingMargin(forwardSpeed: number, verticalSpeed: number, hover: number): number {
  if (!(hover > 0)) return Number.NaN;
  const x = Math.min(Math.abs(forwardSpeed / hover), RING_SPEED);
  return verticalSpeed / hover - ringUpperEdge(x);
}

/** Thrust in ground effect over thrust out of it at the same power: 1 / (1 - (R / 4z)^2), z above R / 4 (m). Cheeseman and Bennett, ARC R&M 3021 (1955), formula from memory. */
export function groundEffect(height: number, radius: number): number {
  const share = radius / (4 * height);
  return height > 0 && share < 1 ? 1 / (1 - share * share) : Number.NaN;
}

/** Glide ratio: horizontal over vertical speed through the air, the latter positive downwards and above 0. */
export const glideRatio = (airspeed: number, descent: number): number =>
  descent > 0 ? airspeed / descent : Number.NaN;

/**
 * Referred quantities: what the same state would be at sea level in the standard atmosphere. Definitions as taught
 * (USNTPS-FTM-107; Cooke and Fitzpatrick), from memory. theta = T / T0, delta = p / p0.
 */
const theta = (temperature: number): number => (temperature > 0 ? temperature / T0 : Number.NaN);
const delta = (pressure: number): number => (pressure > 0 ? pressure / P0 : Number.NaN);

/** Referred power, W: P / (delta sqrt(theta)). */
export const referredPower = (power: number, pressure: number, temperature: number): number =>
  power / (delta(pressure) * Math.sqrt(theta(temperature)));

/** Referred rotor speed, in the unit it is given in: N / sqrt(theta). */
export const referredRotorSpeed = (rotorSpeed: number, temperature: number): number =>
  rotorSpeed / Math.sqrt(theta(temperature));

/** Referred mass, kg: W / delta. */
export const referredMass = (mass: number, pressure: number): number => mass / delta(pressure);

/** Referred mass at nominal rotor speed, kg: W / (sigma (N / N0)^2), sigma = delta / theta; `speed` is N / N0. */
export const weightCoefficientMass = (mass: number, pressure: number, temperature: number, speed: number): number =>
  speed > 0 ? (mass * theta(temperature)) / (delta(pressure) * speed * speed) : Number.NaN;
