/**
 * Sensors: what the aircraft does becomes a value in the parameter's unit, gets the sensor's noise, and is turned into
 * counts by the mission's own calibration. Noise of one parameter does not depend on which others there are.
 */
import type { Mission } from '../../protocol/mission.ts';
import type { Parameter } from '../../protocol/parameter.ts';
import type { Aircraft } from './aircraft.ts';
import { countsFor } from './calibration.ts';
import { Chance } from './chance.ts';
import type { Injection } from './scenario.ts';
import { shuntNames, shuntStep } from './shunts.ts';
import type { Signal, Signals } from './signal.ts';
import { airSignals } from './signals-air.ts';
import { controlSignals } from './signals-control.ts';
import { engineSignals } from './signals-engine.ts';
import { vibrationSignals } from './signals-vibration.ts';

/** All that the SM-1X can measure, by parameter id. */
export const signals: Signals = { ...vibrationSignals, ...controlSignals, ...airSignals, ...engineSignals };

/** The counts of one parameter now. */
export type Sensor = (aircraft: Aircraft) => number;

/**
 * Throws when the mission asks for what this aircraft does not measure, or in another unit. Of `injections` those count that
 * are faults of this sensor.
 */
export function sensorFor(
  mission: Mission,
  parameter: Parameter,
  seed: number,
  injections: readonly Injection[] = [],
): Sensor {
  const word = mission.parameters.filter((p) => p.calibration.kind === 'bits' && p.calibration.word === parameter.id);
  if (word.length > 0) return wordSensor(word);
  const signal = signalOf(parameter);
  const toCounts = countsFor(parameter.calibration, parameter.format!);
  const { noise } = signal;
  const own = injections.filter((one) => one.parameter === parameter.id || one.with === parameter.id);
  const read = own.length > 0 ? faulty(mission, parameter, own) : wired(parameter.id, signal);
  const isFrozen = frozenBy(own);
  const rough = own.filter((one) => one.do === 'roughen sensor');
  if (noise === 0 && rough.length === 0) return isFrozen((aircraft) => toCounts(read(aircraft)));
  const chance = new Chance(seed, `sensor ${parameter.id}`);
  const noiseAt = ({ time }: Aircraft): number =>
    rough.reduce((before, { at, by = before }) => (time >= at ? by : before), noise);
  return isFrozen((aircraft) => toCounts(read(aircraft) + noiseAt(aircraft) * chance.normal()));
}

/** What comes in by the wires of a channel: what is measured, and its shunt while that is switched in. */
function wired(channel: string, { read }: Signal): Signal['read'] {
  if (!shuntNames.includes(channel)) return read;
  return (a) => {
    const { shunt, bridgeSupply } = a.instrumentation;
    return shunt === channel ? read(a) + shuntStep(channel, bridgeSupply) : read(a);
  };
}

/** The same with faults of the sensor, each from its time on. */
function faulty(mission: Mission, parameter: Parameter, injections: readonly Injection[]): Signal['read'] {
  const own = signalOf(parameter);
  let read = wired(parameter.id, own);
  for (const { do: fault, at, parameter: first, with: second, by = 0 } of injections) {
    const before = read;
    if (fault === 'shift sensor') read = (a) => before(a) + (a.time >= at ? by : 0);
    if (fault === 'scale sensor') read = (a) => before(a) * (a.time >= at ? by : 1);
    if (fault === 'open shunt') read = (a) => (a.time >= at ? own.read(a) : before(a));
    if (fault !== 'swap sensors') continue;
    const id = first === parameter.id ? second : first;
    const other = mission.parameters.find((one) => one.id === id);
    if (!other || other.unit !== parameter.unit)
      throw new Error(`the wires of ${parameter.id} can be swapped with another in ${parameter.unit}, not with ${id}`);
    const there = wired(other.id, signalOf(other));
    read = (a) => (a.time >= at ? there(a) : before(a));
  }
  return read;
}

/** Holds the last counts from the time on that the sensor freezes. */
function frozenBy(injections: readonly Injection[]): (sensor: Sensor) => Sensor {
  const at = injections.find((one) => one.do === 'freeze sensor')?.at;
  if (at === undefined) return (sensor) => sensor;
  return (sensor) => {
    let last = Number.NaN;
    return (aircraft) => {
      if (aircraft.time < at || Number.isNaN(last)) last = sensor(aircraft);
      return last;
    };
  };
}

function signalOf(parameter: Parameter): Signal {
  const signal = signals[parameter.id];
  if (!signal) throw new Error(`the rehearsal aircraft does not measure ${parameter.id}`);
  if (signal.unit !== parameter.unit)
    throw new Error(`the rehearsal aircraft measures ${parameter.id} in ${signal.unit}, not in ${parameter.unit}`);
  return signal;
}

/** A word of bits: every parameter that is taken out of it puts its bits there. */
function wordSensor(parameters: readonly Parameter[]): Sensor {
  const parts = parameters.map((parameter) => {
    const { calibration } = parameter;
    if (calibration.kind !== 'bits') throw new Error(`${parameter.id} is no part of a word`);
    return { read: signalOf(parameter).read, shift: 2 ** calibration.shift, span: 2 ** calibration.width };
  });
  return (aircraft) => {
    let word = 0;
    for (const { read, shift, span } of parts) word += (Math.trunc(read(aircraft)) % span) * shift;
    return word;
  };
}
