/** readiness.yaml, keys `morning check` and `control sweep`: what is proven before a flight, and by which values. */
import type { z } from 'zod';
import type { ChannelCheck, MorningCheckPlan, SweepChannel, SweepPlan } from '../../protocol/readiness.ts';
import { parseUnit, type Unit } from '../../protocol/units.ts';
import * as shape from './checks-schema.ts';
import type { Known } from './names.ts';
import { firstAt } from './names.ts';
import type { ParameterNames } from './parameters.ts';
import { microseconds, readDifference, readQuantity, readSeconds } from './quantity.ts';
import { type Item, item } from './shape.ts';
import { type Path, type Place, type Source, shown } from './source.ts';

type ChannelText = z.infer<typeof shape.channelCheck>;
type SweepText = z.infer<typeof shape.sweepChannel>;
type Written = number | string;

/** Longest time a channel is gathered, and most that clocks may be apart, seconds. */
const LONGEST_GATHER = 600;
const LONGEST_OFFSET = 3600;
/** Shares when the file does not say them. */
const TRAVEL = 0.98;
const SPREAD = 0.01;
const MISSING = 0.02;

const number = parseUnit('1') as Unit;

/** The two checks as far as they are whole; what is not has findings. */
export function readChecks(source: Source, names: ParameterNames): { morning?: MorningCheckPlan; sweep?: SweepPlan } {
  const data = (source.data ?? {}) as Record<string, unknown>;
  const morning = data['morning check'] === undefined ? undefined : readMorning(source, data['morning check'], names);
  const sweep = data['control sweep'] === undefined ? undefined : readSweep(source, data['control sweep'], names);
  return { ...(morning && { morning }), ...(sweep && { sweep }) };
}

function readMorning(source: Source, data: unknown, names: ParameterNames): MorningCheckPlan | undefined {
  const path: Path = ['morning check'];
  const before = source.troubles;
  const { value, whole } = item(data, path, shape.morningCheck);
  const time = (key: 'gather' | 'settle' | 'time offset' | 'time drift', least: number, most: number): number => {
    const written = value[key];
    return written === undefined ? 0 : microseconds(readSeconds(source, [...path, key], written, least, most) ?? 0);
  };
  const gather = time('gather', 0.5, LONGEST_GATHER);
  const settle = time('settle', 0, LONGEST_GATHER);
  const timeOffset = time('time offset', 0.001, LONGEST_OFFSET);
  const timeDrift = time('time drift', 0.0001, LONGEST_OFFSET);
  const rateTolerance = share(source, [...path, 'rate tolerance'], value['rate tolerance'], 0);
  const taken = new Map<string, Place>();
  const channels = entries(data, 'channels').map((entry, i) =>
    readChannel(source, item(entry, [...path, 'channels', i], shape.channelCheck), names, taken),
  );
  if (!whole || source.troubles > before || channels.some((one) => one === undefined)) return undefined;
  return {
    gather,
    ...(settle > 0 && { settle }),
    ...(value['calibration days'] !== undefined && { calibrationDays: value['calibration days'] }),
    channels: channels as ChannelCheck[],
    rateTolerance,
    timeOffset,
    timeDrift,
  };
}

function readChannel(
  source: Source,
  { value, path, whole }: Item<ChannelText>,
  names: ParameterNames,
  taken: Map<string, Place>,
): ChannelCheck | undefined {
  const before = source.troubles;
  const known = measured(source, [...path, 'parameter'], value.parameter, names);
  if (known !== undefined) once(source, [...path, 'parameter'], value.parameter as string, taken);
  if (known?.unit === undefined) return undefined;
  const { unit } = known;
  const zero = value.zero === undefined ? 0 : readQuantity(source, [...path, 'zero'], value.zero, unit);
  const zeroTolerance = positive(source, [...path, 'zero tolerance'], value['zero tolerance'], unit);
  const [quiet, noisy] = value.noise ?? [];
  const least = quiet === undefined ? undefined : readDifference(source, [...path, 'noise', 0], quiet, unit);
  const most = noisy === undefined ? undefined : readDifference(source, [...path, 'noise', 1], noisy, unit);
  if (least !== undefined && most !== undefined && !(least >= 0 && most > least))
    source.add('limit-order', [...path, 'noise'], `from ${least} to ${most}`, 'a least from 0 on, and a most above it');
  const shunt = value.shunt === undefined ? undefined : readDifference(source, [...path, 'shunt'], value.shunt, unit);
  const shuntTolerance = positive(source, [...path, 'shunt tolerance'], value['shunt tolerance'], unit);
  checkShunt(source, path, value, shunt, shuntTolerance);
  if (!whole || source.troubles > before) return undefined;
  return {
    parameter: value.parameter as string,
    zero: zero as number,
    zeroTolerance: zeroTolerance as number,
    noise: [least as number, most as number],
    ...(shunt !== undefined && { shunt, shuntTolerance: shuntTolerance as number }),
    ...(value.counts && { counts: value.counts as NonNullable<ChannelCheck['counts']> }),
    place: source.place(path),
  };
}

/** A shunt comes with its tolerance, and is large enough to be told from no step and from one the wrong way. */
function checkShunt(
  source: Source,
  path: Path,
  value: Partial<ChannelText>,
  shunt: number | undefined,
  tolerance: number | undefined,
) {
  if (value.shunt !== undefined && value['shunt tolerance'] === undefined)
    source.add('wrong-shape', path, 'a shunt without tolerance', 'shunt tolerance: what the step may be off by');
  if (value.shunt === undefined && value['shunt tolerance'] !== undefined)
    source.add(
      'wrong-shape',
      [...path, 'shunt tolerance'],
      'a tolerance without shunt',
      'shunt: the step it belongs to',
    );
  if (value.shunt === undefined && value.counts?.shunt !== undefined)
    source.add('wrong-shape', [...path, 'counts', 'shunt'], 'counts of a shunt', 'shunt: the step that they make');
  if (value.counts?.shunt === 0) source.add('bad-value', [...path, 'counts', 'shunt'], '0', 'a step that is not 0');
  if (shunt !== undefined && tolerance !== undefined && !(tolerance < Math.abs(shunt) / 2))
    source.add(
      'bad-value',
      [...path, 'shunt tolerance'],
      `${tolerance} for a step of ${shunt}`,
      'less than half of the step',
    );
}

function readSweep(source: Source, data: unknown, names: ParameterNames): SweepPlan | undefined {
  const path: Path = ['control sweep'];
  const before = source.troubles;
  const { value, whole } = item(data, path, shape.controlSweep);
  const of = (key: 'travel' | 'spread' | 'tracking' | 'hysteresis' | 'missing', otherwise: number): number =>
    share(source, [...path, key], value[key], otherwise);
  const delay =
    value.delay === undefined ? undefined : readSeconds(source, [...path, 'delay'], value.delay, 0.001, 0.5);
  const taken = new Map<string, Place>();
  const channels = entries(data, 'channels').map((entry, i) =>
    readSwept(source, item(entry, [...path, 'channels', i], shape.sweepChannel), names, taken),
  );
  const plan = {
    travel: of('travel', TRAVEL),
    spread: of('spread', SPREAD),
    tracking: of('tracking', 1),
    missing: of('missing', MISSING),
    ...(delay !== undefined && { delay: microseconds(delay) }),
    ...(value.hysteresis !== undefined && { hysteresis: of('hysteresis', 1) }),
  };
  if (!whole || source.troubles > before || channels.some((one) => one === undefined)) return undefined;
  return { ...plan, channels: channels as SweepChannel[] };
}

function readSwept(
  source: Source,
  { value, path, whole }: Item<SweepText>,
  names: ParameterNames,
  taken: Map<string, Place>,
): SweepChannel | undefined {
  const before = source.troubles;
  const known = measured(source, [...path, 'parameter'], value.parameter, names);
  if (known !== undefined) once(source, [...path, 'parameter'], value.parameter as string, taken);
  if (known?.unit === undefined) return undefined;
  const beside = (at: Path, name: string | undefined): void => {
    const other = measured(source, at, name, names);
    if (other?.unit !== undefined)
      checkBeside(source, at, name as string, other, value.parameter as string, known, names);
  };
  if (value.command !== undefined) beside([...path, 'command'], value.command);
  for (const [i, name] of (value.channels ?? []).entries()) beside([...path, 'channels', i], name);
  const [from, to] = value.rig ?? [];
  const low = from === undefined ? undefined : readQuantity(source, [...path, 'rig', 0], from, known.unit);
  const high = to === undefined ? undefined : readQuantity(source, [...path, 'rig', 1], to, known.unit);
  if (low !== undefined && high !== undefined && !(high > low))
    source.add('limit-order', [...path, 'rig'], `from ${low} to ${high}`, 'a low end below the high one');
  if (!whole || source.troubles > before) return undefined;
  const { parameter, command, channels } = value as SweepText;
  return {
    ...{ parameter, ...(command !== undefined && { command }) },
    rig: [low as number, high as number],
    channels: channels ?? [],
    place: source.place(path),
  };
}

/** What is compared sample by sample is of one unit, and sampled together. */
function checkBeside(
  source: Source,
  path: Path,
  name: string,
  other: Known,
  position: string,
  known: Known,
  names: ParameterNames,
) {
  if (other.unit?.name !== known.unit?.name)
    source.add(
      'unit-clash',
      path,
      `${shown(name)} in ${other.unit?.name}`,
      `the unit of ${position}, ${known.unit?.name}`,
    );
  const group = groupOf(position, names);
  if (name === position) source.add('duplicate-name', path, shown(name), `another parameter than ${position} itself`);
  else if (group !== '' && groupOf(name, names) !== group)
    source.add('bad-value', path, shown(name), `a parameter of the rate group of ${position}, ${group}`);
}

/** The rate group whose samples bring it, by way of what drives it; '' when that is not known. */
function groupOf(name: string, names: ParameterNames): string {
  let at = name;
  for (let steps = 0; steps < 100; steps++) {
    if (names.groups.has(at) && !names.parameters.has(at)) return at;
    const driver = names.parameters.get(at)?.drivenBy;
    if (driver === undefined) return '';
    // a rate group may bear the name of a parameter: a received one is driven by its group
    if (driver === at) return at;
    at = driver;
  }
  return '';
}

/** A parameter that has a unit and is no discrete; undefined where there is none, or it is not whole (said elsewhere). */
function measured(source: Source, path: Path, name: string | undefined, names: ParameterNames): Known | undefined {
  if (name === undefined || names.broken.has(name)) return undefined;
  const known = names.parameters.find(source, path, name);
  if (!known?.hasStates) return known;
  source.add('bad-value', path, `${shown(name)}, a discrete`, 'a parameter that is measured');
  return undefined;
}

function once(source: Source, path: Path, name: string, taken: Map<string, Place>) {
  const first = taken.get(name);
  if (first !== undefined) source.add('duplicate-name', path, shown(name), 'every parameter once', firstAt(first));
  else taken.set(name, source.place(path));
}

/** A share as a number from above 0 to 1. */
function share(source: Source, path: Path, written: Written | undefined, otherwise: number): number {
  if (written === undefined) return otherwise;
  const value = readQuantity(source, path, written, number);
  if (value === undefined) return otherwise;
  if (!(value > 0 && value <= 1)) source.add('bad-value', path, shown(written), 'a share above 0 %, at most 100 %');
  return value;
}

function positive(source: Source, path: Path, written: Written | undefined, unit: Unit): number | undefined {
  const value = written === undefined ? undefined : readDifference(source, path, written, unit);
  if (value !== undefined && !(value > 0)) source.add('bad-value', path, shown(written), 'a value above 0');
  return value;
}

function entries(data: unknown, key: string): unknown[] {
  const list = (data as Record<string, unknown> | null | undefined)?.[key];
  return Array.isArray(list) ? list : [];
}
