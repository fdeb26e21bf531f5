/** sequences.yaml, key `sequences`: steps that must follow one another, each within its time, and what is measured meanwhile. */
import type { SequenceStep } from '../../protocol/limit.ts';
import type { Sequence, SequenceMeasure } from '../../protocol/procedure.ts';
import type { z } from 'zod';
import { condition } from './conditions.ts';
import { Names } from './names.ts';
import type { ParameterNames } from './parameters.ts';
import { microseconds, readQuantity, readSeconds } from './quantity.ts';
import type { sequence } from './sequences-schema.ts';
import type { Item } from './shape.ts';
import { type Path, type Source, shown } from './source.ts';

type SequenceText = z.infer<typeof sequence>;
type MeasureText = NonNullable<SequenceText['measures']>[number];

/** Longest time of a step, seconds: an hour. */
const LONGEST = 3600;
/** Shortest and longest window of a rise, seconds. */
const WINDOW = [0.02, 60] as const;

/** The sequences that are whole; all conditions they are made of are declared. */
export function readSequences(source: Source, list: readonly Item<SequenceText>[], names: ParameterNames): Sequence[] {
  const ids = new Names<true>('sequence');
  const result: Sequence[] = [];
  for (const { value, whole, path } of list) {
    const before = source.troubles;
    if (value.id !== undefined) ids.declare(source, [...path, 'id'], value.id, true);
    const broken = { found: false };
    const when = (at: Path, text: string, name: string): string => {
      const id = condition(source, at, text, '', `sequence.${value.id ?? ''}.${name}`, names);
      if (names.broken.has(id)) broken.found = true;
      return id;
    };
    const begins = value.begins === undefined ? '' : when([...path, 'begins'], value.begins, 'begins');
    const ends = value.ends === undefined ? undefined : when([...path, 'ends'], value.ends, 'ends');
    const gate = value.gate && {
      text: value.gate.text,
      when: when([...path, 'gate', 'when'], value.gate.when, 'gate'),
    };
    const steps = readSteps(source, [...path, 'steps'], value.steps ?? [], when);
    const measures = (value.measures ?? []).map((one, i) => readMeasure(source, [...path, 'measures', i], one, names));
    if (!whole || source.troubles > before || broken.found) continue;
    if (steps.some((one) => one === undefined) || measures.some((one) => one === undefined)) continue;
    const { id, title } = value as SequenceText;
    result.push({
      ...{ id, title, begins, ...(ends !== undefined && { ends }) },
      steps: steps as SequenceStep[],
      measures: measures as SequenceMeasure[],
      ...(gate && { gate }),
      place: source.place(path),
    });
  }
  return result;
}

function readSteps(
  source: Source,
  path: Path,
  steps: SequenceText['steps'],
  when: (at: Path, text: string, name: string) => string,
): (SequenceStep | undefined)[] {
  // the room is told of a missing step by its name alone
  const stepNames = new Names<true>('step');
  return steps.map((step, i) => {
    stepNames.declare(source, [...path, i, 'name'], step.name, true);
    const within = readSeconds(source, [...path, i, 'within'], step.within, 0, LONGEST);
    const id = when([...path, i, 'when'], step.when, `${i + 1}`);
    return within === undefined ? undefined : { name: step.name, when: id, within: microseconds(within) };
  });
}

/** Undefined where it is not whole, or measures something broken. */
function readMeasure(
  source: Source,
  path: Path,
  text: MeasureText,
  names: ParameterNames,
): SequenceMeasure | undefined {
  const { title, parameter, kind, over, 'up to': upTo, window } = text;
  const before = source.troubles;
  const known = names.parameters.find(source, [...path, 'parameter'], parameter);
  const wrong = (key: 'over' | 'up to' | 'window', of: string) => {
    if (text[key] !== undefined) source.addAtKey('wrong-shape', [...path, key], key, `no ${key}: it is for kind ${of}`);
  };
  if (kind !== 'time above') {
    wrong('over', 'time above');
    wrong('up to', 'time above');
  }
  if (kind !== 'rate') wrong('window', 'rate');
  const one: SequenceMeasure = { title, parameter, kind };
  if (kind === 'time above') {
    if (over === undefined) source.add('wrong-shape', path, 'no over', 'over, for kind time above: a value');
    const from =
      over === undefined || !known?.unit ? undefined : readQuantity(source, [...path, 'over'], over, known.unit);
    const to =
      upTo === undefined || !known?.unit ? undefined : readQuantity(source, [...path, 'up to'], upTo, known.unit);
    if (from !== undefined) one.value = from;
    if (to !== undefined) one.upTo = to;
    if (from !== undefined && to !== undefined && !(from < to))
      source.add('bad-value', [...path, 'up to'], shown(upTo), `more than over, which is ${shown(over)}`);
  }
  if (kind === 'rate') {
    if (window === undefined) source.add('wrong-shape', path, 'no window', 'window, for kind rate: a time like 1 s');
    const seconds = window === undefined ? undefined : readSeconds(source, [...path, 'window'], window, ...WINDOW);
    if (seconds !== undefined) one.window = microseconds(seconds);
  }
  return source.troubles > before || known?.unit === undefined || names.broken.has(parameter) ? undefined : one;
}
