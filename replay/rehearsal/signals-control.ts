/** Rotor, engine speeds, attitude, flight control computers and actuators, 100 samples a second. */
import type { Aircraft } from './aircraft.ts';
import { rotorShape } from './rotor.ts';
import type { Signal, Signals } from './signal.ts';

const degrees = 180 / Math.PI;
const KNOT = 1852 / 3600;
const laws = ['ground', 'hover', 'cruise', 'autorotation', 'flare'];

/** One signal for each of the three computers: letters A, B, C. */
function channels(name: string, unit: string, read: (a: Aircraft, channel: number) => number): Signals {
  // the noise is the computers' own: they send what they measure
  const signal = (channel: number): Signal => ({ unit, noise: 0, read: (a) => read(a, channel) });
  return { [`${name}_A`]: signal(0), [`${name}_B`]: signal(1), [`${name}_C`]: signal(2) };
}

/** One signal for each of the four actuators. */
function actuators(name: string, unit: string, noise: number, read: (a: Aircraft, i: number) => number): Signals {
  const signal = (i: number): [string, Signal] => [`ACT${i + 1}_${name}`, { unit, noise, read: (a) => read(a, i) }];
  return Object.fromEntries([0, 1, 2, 3].map(signal));
}

const discrete = (read: (a: Aircraft) => number | boolean): Signal => ({
  unit: '1',
  noise: 0,
  read: (a) => Number(read(a)),
});

export const controlSignals: Signals = {
  NR: { unit: '%', noise: 0.03, read: (a) => a.nr * 100 },
  N2: { unit: '%', noise: 0.03, read: (a) => (a.drive.turbineSpeed / rotorShape.speed) * 100 },
  N1: { unit: '%', noise: 0.03, read: (a) => a.engine.n1 * 100 },
  TQ: { unit: '%', noise: 0.12, read: (a) => a.tq * 100 },
  TOT: { unit: 'degC', noise: 0.6, read: (a) => a.engine.outletK - 273.15 },
  PITCH: { unit: 'deg', noise: 0.02, read: (a) => a.body.pitch * degrees },
  ROLL: { unit: 'deg', noise: 0.02, read: (a) => a.body.roll * degrees },
  HEADING: { unit: 'deg', noise: 0, read: (a) => (a.body.heading * degrees) % 360 },
  NX: { unit: 'g', noise: 0.003, read: (a) => a.body.nx },
  NY: { unit: 'g', noise: 0.003, read: (a) => a.body.ny },
  NZ: { unit: 'g', noise: 0.003, read: (a) => a.body.nz },
  ...channels('ROLL_RATE', 'deg/s', (a, c) => a.computers.rollRate[c]! * degrees),
  ...channels('PITCH_RATE', 'deg/s', (a, c) => a.computers.pitchRate[c]! * degrees),
  ...channels('YAW_RATE', 'deg/s', (a, c) => a.computers.yawRate[c]! * degrees),
  ...channels('IAS', 'kt', (a, c) => a.computers.airspeed[c]! / KNOT),
  ...channels('PITCH_ATT', 'deg', (a, c) => a.computers.pitch[c]! * degrees),
  ...channels('ROLL_ATT', 'deg', (a, c) => a.computers.roll[c]! * degrees),
  ...actuators('CMD', '%', 0, (a, i) => a.actuators.command[i]!),
  ...actuators('POS', '%', 0.03, (a, i) => a.actuators.position[i]!),
  ...actuators('AMPS', 'A', 0.04, (a, i) => a.actuators.current[i]!),
  FLAP_AFT: { unit: 'deg', noise: 0.03, read: (a) => a.rotor.flapAft * degrees },
  FLAP_RIGHT: { unit: 'deg', noise: 0.03, read: (a) => a.rotor.flapRight * degrees },
  PILOT_FORWARD: { unit: 'm/s', noise: 0, read: (a) => a.pilot.command.forward },
  PILOT_RIGHT: { unit: 'm/s', noise: 0, read: (a) => a.pilot.command.right },
  PILOT_CLIMB: { unit: 'm/s', noise: 0, read: (a) => a.pilot.command.climb },
  PILOT_COLLECTIVE: { unit: 'deg', noise: 0, read: (a) => a.computers.collectiveDeg },
  FCS_MODE: discrete((a) => a.computers.mode),
  FCS_LAW: discrete((a) => laws.indexOf(a.pilot.command.law)),
  SKID_LEFT: discrete((a) => a.leftDown),
  SKID_RIGHT: discrete((a) => a.rightDown),
  FCC_A: discrete(() => 1),
  FCC_B: discrete(() => 1),
  FCC_C: discrete(() => 1),
  FREEWHEEL: discrete((a) => a.drive.engaged),
  ROTOR_BRAKE: discrete((a) => a.pilot.brake > 0),
  STARTER: discrete((a) => a.governor.starter),
  LIGHT_OFF: discrete((a) => a.engine.lit),
  GENERATOR: discrete((a) => a.electrics.generatorOn),
  FUEL_PUMP: discrete((a) => a.pilot.engine !== 'off'),
  TRANSFER: discrete((a) => a.fuel.transferring),
  CHIP_MGB: discrete(() => 0),
  CHIP_ENGINE: discrete(() => 0),
};
