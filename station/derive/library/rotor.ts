/** Functions of the rotor. */
import * as rotor from '../../compute/rotor.ts';
import { arg, type FormulaFunction, plain, same } from '../function.ts';

const thrust = arg('thrust', 'N');
const density = arg('density', 'kg/m^3');
const speed = arg('rotor speed', 'rad/s');
const radius = arg('radius', 'm');
const hover = arg('hover induced velocity', 'm/s');
const airspeed = arg('true airspeed', 'm/s');
const pressure = arg('static pressure', 'Pa');
const temperature = arg('static temperature', 'K');

const theory = 'momentum theory; Leishman, Principles of Helicopter Aerodynamics, 2nd ed., ch. 2';
const convention = 'rotorcraft convention; Leishman, ch. 2';
const ring = 'W. Johnson, NASA/TP-2005-213477, stability boundary; parameters from a secondary source';
const referred = 'definitions as taught (USNTPS-FTM-107), from memory';

export const rotorFunctions: readonly FormulaFunction[] = [
  plain('disc_area', [radius], 'm^2', rotor.discArea, { summary: 'A of the rotor disc' }),
  plain('tip_speed', [speed, radius], 'm/s', rotor.tipSpeed, { summary: 'Vtip, speed of the blade tip' }),
  plain('solidity', [arg('blades', '1'), arg('chord', 'm'), radius], '1', rotor.solidity, {
    summary: 'sigma, blade area over disc area',
    source: convention,
  }),
  plain('order_frequency', [arg('order', '1'), speed], 'Hz', rotor.orderFrequency, {
    summary: 'frequency of so many times a turn of the rotor',
  }),
  plain('thrust_coefficient', [thrust, density, speed, radius], '1', rotor.thrustCoefficient, {
    summary: 'CT = T / (rho A Vtip^2)',
    detail: 'usually 0 to 0.02; no value while the rotor stands',
    source: convention,
  }),
  plain('power_coefficient', [arg('power', 'W'), density, speed, radius], '1', rotor.powerCoefficient, {
    summary: 'CP = P / (rho A Vtip^3)',
    detail: 'usually 0 to 0.002; no value while the rotor stands',
    source: convention,
  }),
  plain('advance_ratio', [airspeed, speed, radius], '1', rotor.advanceRatio, {
    summary: 'mu = V / Vtip',
    detail: 'usually 0 to 0.4; no value while the rotor stands',
    source: convention,
  }),
  plain('tip_mach', [airspeed, speed, radius, temperature], '1', rotor.advancingTipMach, {
    summary: 'Mach number of the advancing tip: (Vtip + V) / a',
    source: convention,
  }),
  plain('hover_induced_velocity', [thrust, density, radius], 'm/s', rotor.hoverInducedVelocity, {
    summary: 'vh = sqrt(T / (2 rho A))',
    detail: 'thrust not negative',
    source: theory,
  }),
  plain('ideal_hover_power', [thrust, density, radius], 'W', rotor.idealHoverPower, {
    summary: 'T vh',
    detail: 'thrust not negative',
    source: theory,
  }),
  plain('level_induced_velocity', [airspeed, hover], 'm/s', rotor.levelInducedVelocity, {
    summary: 'vi in level flight, disc edgewise',
    source: 'H. Glauert: vi^2 = -V^2/2 + sqrt(V^4/4 + vh^4)',
  }),
  plain('axial_induced_velocity', [arg('vertical speed', 'm/s'), hover], 'm/s', rotor.axialInducedVelocity, {
    summary: 'vi in vertical flight',
    detail: 'from 0 to 2 vh of descent a fit of measurements, its coefficients from memory; else momentum theory',
    source: theory,
  }),
  plain('descent_ratio', [arg('vertical speed', 'm/s'), hover], '1', rotor.descentRatio, {
    summary: 'Vz / vh, negative in a descent',
  }),
  plain(
    'vortex_ring_margin',
    [arg('forward speed', 'm/s'), arg('vertical speed', 'm/s'), hover],
    '1',
    rotor.vortexRingMargin,
    {
      summary: 'descent left before the unstable region, in vh; negative in it and below it',
      detail: 'speeds through the air; the region begins at 0.45 vh without forward speed and ends at 0.95 vh of it',
      source: ring,
    },
  ),
  plain('ground_effect', [arg('rotor height', 'm'), radius], '1', rotor.groundEffect, {
    summary: 'thrust over thrust out of ground effect, same power',
    detail: 'rotor height above a quarter of the radius',
    source: 'Cheeseman and Bennett, ARC R&M 3021 (1955), from memory',
  }),
  plain('glide_ratio', [airspeed, arg('rate of descent', 'm/s')], '1', rotor.glideRatio, {
    summary: 'airspeed over rate of descent',
    detail: 'rate of descent positive downwards, above 0',
  }),
  plain('referred_power', [arg('power', 'W'), pressure, temperature], 'W', rotor.referredPower, {
    summary: 'P / (delta sqrt(theta))',
    source: referred,
  }),
  plain('referred_rotor_speed', [arg('rotor speed', 'dx'), temperature], same, rotor.referredRotorSpeed, {
    summary: 'N / sqrt(theta), in the unit of N',
    source: referred,
  }),
  plain('referred_mass', [arg('mass', 'kg'), pressure], 'kg', rotor.referredMass, {
    summary: 'W / delta',
    source: referred,
  }),
  plain(
    'weight_coefficient_mass',
    [arg('mass', 'kg'), pressure, temperature, arg('rotor speed', '1')],
    'kg',
    rotor.weightCoefficientMass,
    {
      summary: 'W / (sigma (N / N0)^2), rotor speed over its nominal one',
      source: referred,
    },
  ),
];
