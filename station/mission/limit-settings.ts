/** The settings of a limit, as the table of kinds (protocol/limit-kinds.ts) has them. */
import { nearestName } from '../../protocol/finding.ts';
import type { SequenceStep, SettingValue } from '../../protocol/limit.ts';
import { type LimitKind, type Setting, spelt } from '../../protocol/limit-kind.ts';
import { limitKinds, type KindName } from '../../protocol/limit-kinds.ts';
import { parseUnit, sameDimension, type Unit } from '../../protocol/units.ts';
import { condition } from './conditions.ts';
import { commonKeys, settingShape } from './limit-schema.ts';
import type { ParameterNames } from './parameters.ts';
import { unknown } from './names.ts';
import { microseconds, readQuantity, readSeconds } from './quantity.ts';
import { checkPart, meant } from './shape.ts';
import { type Path, type Source, shown } from './source.ts';

/** Longest duration among settings, seconds: a flight. */
const LONGEST = 24 * 3600;

/** What reading the settings of one limit needs to know. */
export interface LimitAround {
  id: string;
  kind: KindName;
  parameter: string;
  /** unit of its parameter; undefined where that is unknown, and said so elsewhere */
  unit: Unit | undefined;
  /** ids of all limits of the file */
  limits: ReadonlySet<string>;
  names: ParameterNames;
}

/** All settings of the kind, defaults filled in; a finding for each that is missing, wrong, or of another kind. */
export function readSettings(
  source: Source,
  path: Path,
  written: Readonly<Record<string, unknown>>,
  faulty: ReadonlySet<string>,
  around: LimitAround,
): Record<string, SettingValue> {
  const { settings }: LimitKind = limitKinds[around.kind];
  const result: Record<string, SettingValue> = {};
  for (const key of Object.keys(written)) {
    if (Object.hasOwn(commonKeys, key) || Object.hasOwn(settings, key)) continue;
    const near = nearestName(key, [...Object.keys(settings), ...Object.keys(commonKeys)]);
    const expected = `a setting of kind ${around.kind}: ${Object.keys(settings).join(', ') || 'it has none'}`;
    source.addAtKey('wrong-shape', [...path, key], shown(key), expected, meant(near));
  }
  for (const [name, setting] of Object.entries(settings)) {
    if (faulty.has(name)) continue;
    const text = written[name];
    if (text === undefined) {
      if ('default' in setting && setting.default !== undefined) result[name] = setting.default;
      else if (!setting.optional)
        source.add('wrong-shape', path, `no ${name}`, `${name}, for kind ${around.kind}: ${setting.summary}`);
      continue;
    }
    // the schema of the file takes what any kind takes; here it is this one's
    if (!checkPart(source, [...path, name], text, settingShape(setting))) continue;
    const value = readSetting(source, [...path, name], name, setting, text, around);
    if (value !== undefined) result[name] = value;
  }
  return result;
}

function readSetting(
  source: Source,
  path: Path,
  name: string,
  setting: Setting,
  text: unknown,
  around: LimitAround,
): SettingValue | undefined {
  const { names } = around;
  switch (setting.type) {
    case 'parameter':
      return readParameter(source, path, text as string, setting.unit, around);
    case 'parameters': {
      const ids = text as string[];
      const found = ids.map((id, i) => readParameter(source, [...path, i], id, setting.unit, around));
      return found.every((id) => id !== undefined) ? (found as string[]) : undefined;
    }
    case 'condition':
      return condition(source, path, text as string, around.parameter, `${around.id}.${name}`, names);
    case 'steps':
      return readSteps(source, path, text as StepText[], around, name);
    case 'duration': {
      const seconds = readSeconds(source, path, text as string | number, 0, LONGEST);
      return seconds === undefined ? undefined : microseconds(seconds);
    }
    case 'quantity':
      return readValue(source, path, text as string | number, setting, around);
    case 'quantities': {
      const found = (text as (string | number)[]).map((one, i) =>
        // its least and most say how many there are
        readValue(source, [...path, i], one, { unit: setting.unit }, around),
      );
      return found.every((value) => value !== undefined) ? (found as number[]) : undefined;
    }
    case 'points': {
      const points = (text as [string | number, string | number][]).map((point, i) =>
        point.map((one, k) => {
          const unit = setting.units[k] as string;
          return readValue(source, [...path, i, k], one, { unit }, around);
        }),
      );
      return points.every((point) => point.every((value) => value !== undefined)) ? (points as number[][]) : undefined;
    }
    case 'table':
    case 'boundary': {
      if (names.lookedUp.has(text as string)) return text as string;
      unknown(source, path, text as string, setting.type, names.lookedUp.keys());
      return undefined;
    }
    case 'limit': {
      if (around.limits.has(text as string)) return text as string;
      unknown(source, path, text as string, 'limit', around.limits);
      return undefined;
    }
    case 'whole':
    case 'choice':
    case 'expression':
      return text as SettingValue;
  }
}

function readParameter(
  source: Source,
  path: Path,
  id: string,
  unit: string | undefined,
  { names, unit: watched }: LimitAround,
): string | undefined {
  const known = names.parameters.find(source, path, id);
  if (known === undefined || names.broken.has(id)) return undefined;
  const wanted = unit === undefined ? undefined : unit === 'watched' ? watched : parseUnit(unit);
  if (wanted === undefined || known.unit === undefined || sameDimension(known.unit, wanted)) return id;
  source.add('unit-clash', path, `${id} in ${known.unit.name}`, `a parameter in ${wanted.name} or the like`);
  return undefined;
}

function readValue(
  source: Source,
  path: Path,
  text: string | number,
  { unit, least = -Infinity, most = Infinity }: { unit: string; least?: number; most?: number },
  { unit: watched }: LimitAround,
): number | undefined {
  const wanted = watched && parseUnit(spelt(unit, watched.name));
  if (wanted === undefined) return undefined;
  const value = readQuantity(source, path, text, wanted);
  if (value === undefined || (value >= least && value <= most)) return value;
  const ends = `${least === -Infinity ? '' : `at least ${least}`}${most === Infinity ? '' : ` at most ${most}`}`;
  source.add('bad-value', path, shown(text), `${ends.trim()} ${wanted.name}`);
  return undefined;
}

interface StepText {
  name: string;
  when: string;
  within: string | number;
}

function readSteps(
  source: Source,
  path: Path,
  steps: readonly StepText[],
  { id, parameter, names }: LimitAround,
  name: string,
): SequenceStep[] | undefined {
  const found = steps.map((step, i) => {
    const within = readSeconds(source, [...path, i, 'within'], step.within, 0, LONGEST);
    const when = condition(source, [...path, i, 'when'], step.when, parameter, `${id}.${name}.${i + 1}`, names);
    return within === undefined ? undefined : { name: step.name, when, within: microseconds(within) };
  });
  return found.every((step) => step !== undefined) ? (found as SequenceStep[]) : undefined;
}
