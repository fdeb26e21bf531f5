/**
 * Sensors: what the aircraft does becomes a value in the parameter's unit, gets the sensor's noise, and is turned into
 * counts by the mission's own calibration. Noise of one parameter does not depend on which others there are.
 */
import type { Mission } from '../../protocol/mission.ts';
import type { Parameter } from '../../protocol/parameter.ts';
import type { Aircraft } from './aircraft.ts';
import { countsFor } from './calibration.ts';
import { Chance } from './chance.ts';
import type { Signal, Signals } from './signal.ts';
import { airSignals } from './signals-air.ts';
import { controlSignals } from './signals-control.ts';
import { engineSignals } from './signals-engine.ts';
import { vibrationSignals } from './signals-vibration.ts';

/** All that the SM-1X can measure, by parameter id. */
export const signals: Signals = { ...vibrationSignals, ...controlSignals, ...airSignals, ...engineSignals };

/** The counts of one parameter now. */
export type Sensor = (aircraft: Aircraft) => number;

/** Throws when the mission asks for what this aircraft does not measure, or in another unit. */
export function sensorFor(mission: Mission, parameter: Parameter, seed: number): Sensor {
  const word = mission.parameters.filter((p) => p.calibration.kind === 'bits' && p.calibration.word === parameter.id);
  if (word.length > 0) return wordSensor(word);
  const signal = signalOf(parameter);
  const toCounts = countsFor(parameter.calibration, parameter.format!);
  const { noise, read } = signal;
  if (noise === 0) return (aircraft) => toCounts(read(aircraft));
  const chance = new Chance(seed, `sensor ${parameter.id}`);
  return (aircraft) => toCounts(read(aircraft) + noise * chance.normal());
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
