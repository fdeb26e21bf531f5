/** Times and values with their units, as a mission file writes them. */
import { nearestName } from '../../protocol/finding.ts';
import { SECOND } from '../../protocol/time.ts';
import { convertUnit, dimensionName, parseUnit, sameDimension, type Unit, unitNames } from '../../protocol/units.ts';
import { type Path, type Source, shown } from './source.ts';
import { meant } from './shape.ts';

const written = /^\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(\D.*)$/;

/** The unit a text spells, or a finding. */
export function readUnit(source: Source, path: Path, text: string): Unit | undefined {
  const unit = parseUnit(text);
  if (unit === undefined) {
    const near = nearestName(text, unitNames());
    source.add('unknown-unit', path, shown(text), 'a unit of the unit table', meant(near));
  }
  return unit;
}

/** A number in `unit`: as written, or converted from the unit it is written with. */
export function readQuantity(source: Source, path: Path, value: number | string, unit: Unit): number | undefined {
  return read(source, path, value, unit, false);
}

/** The same for a difference of two values, which for a temperature is not converted like a value. */
export function readDifference(source: Source, path: Path, value: number | string, unit: Unit): number | undefined {
  return read(source, path, value, unit, true);
}

function read(source: Source, path: Path, value: number | string, unit: Unit, isDifference: boolean) {
  if (typeof value === 'number') return value;
  const match = written.exec(value);
  if (!match) {
    source.add('bad-value', path, shown(value), `a number in ${unit.name}, or a number with its unit`);
    return undefined;
  }
  const from = readUnit(source, path, (match[2] as string).trim());
  if (from === undefined) return undefined;
  if (!sameDimension(from, unit)) {
    source.add(
      'unit-clash',
      path,
      `${shown(value)} (${dimensionName(from)})`,
      `${dimensionName(unit)}, like ${unit.name}`,
    );
    return undefined;
  }
  const result = convertUnit(Number(match[1]), from, unit) - (isDifference ? convertUnit(0, from, unit) : 0);
  if (Number.isFinite(result)) return result;
  source.add('bad-value', path, shown(value), 'a number of ordinary size');
  return undefined;
}

/** A time with its unit, in seconds; 0 needs none. */
export function readSeconds(
  source: Source,
  path: Path,
  value: number | string,
  least: number,
  most: number,
): number | undefined {
  const seconds = value === 0 ? 0 : readQuantity(source, path, value, parseUnit('s') as Unit);
  if (seconds === undefined) return undefined;
  if (seconds >= least && seconds <= most) return seconds;
  source.add('bad-value', path, shown(value), `a time from ${least} s to ${most} s`);
  return undefined;
}

export const microseconds = (seconds: number): number => Math.round(seconds * SECOND);
