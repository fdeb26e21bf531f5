/** phases.yaml: the phases of flight, and the conditions that lead from one to the next. */
import type { z } from 'zod';
import type { Limit } from '../../protocol/limit.ts';
import type { Derived } from '../../protocol/parameter.ts';
import type { Phase, PhaseMachine, PhaseTransition } from '../../protocol/phase.ts';
import { NUMBER } from '../../protocol/units.ts';
import { condition, fastestGroup, groupOf, namesIn } from './conditions.ts';
import { Names, unknown } from './names.ts';
import { declare, type ParameterNames } from './parameters.ts';
import { microseconds, readSeconds } from './quantity.ts';
import * as schema from './schema.ts';
import { type Item, item, items } from './shape.ts';
import { type Path, type Source, shown } from './source.ts';

type Head = Item<z.infer<typeof schema.phasesFile>>;
type PhaseItem = Item<z.infer<typeof schema.phase>>;
type TransitionText = NonNullable<z.infer<typeof schema.phase>['then']>[number];

/** Longest `for` and `hold`, seconds. */
const LONGEST = 3600;
/** Seconds a phase is believed when the file does not say it. */
const HOLD = 5;

const headOf = (source: Source): Head => item(source.data ?? {}, [], schema.phasesFile);

/** Declares the parameter that holds the phase, so that formulas and drivers may name it. */
export function declarePhases(source: Source, names: ParameterNames) {
  const { value } = headOf(source);
  const driver = value['driven by'];
  const known = { unit: NUMBER, hasStates: true, ...(driver !== undefined && { drivenBy: driver }) };
  if (value.parameter !== undefined) declare(source, ['parameter'], value.parameter, known, names);
}

/**
 * The machine and the parameter that holds its state; undefined where there is no such file. `broken` when anything in it
 * is not whole, and then the parameter is among the broken names. The derived parameters must have been declared, their
 * drivers checked.
 */
export function readPhases(
  source: Source,
  names: ParameterNames,
): { machine: PhaseMachine; derived: Derived } | 'broken' | undefined {
  if (source.name === '') return undefined;
  const head = headOf(source);
  const list = items(source, 'phases', schema.phase);
  const { parameter = '' } = head.value;
  const hold = readSeconds(source, ['hold'], head.value.hold ?? `${HOLD} s`, 0, LONGEST);
  const driver = readDriver(source, head, list, names);
  const ids = declareAll(source, list);
  const phases = list.map((one) => readPhase(source, one, { parameter, driver, ids, names }));
  checkReached(source, list, ids);
  const isWhole = head.whole && source.troubles === 0 && !names.broken.has(parameter) && !names.broken.has(driver);
  if (!isWhole || hold === undefined || phases.some((one) => one === undefined)) {
    // the name may be that of another parameter, which is whole
    if (names.parameters.place(parameter)?.file === source.name) names.broken.add(parameter);
    return 'broken';
  }
  const machine = { parameter, phases: phases as Phase[], hold: microseconds(hold) };
  const { name = 'Phase of flight', description } = head.value;
  const states = Object.fromEntries(machine.phases.map((one, i) => [i, one.name]));
  const place = source.place(['parameter']);
  const about = { id: parameter, name, ...(description && { description }), unit: '1', states, place };
  return { machine, derived: { ...about, drivenBy: driver, formula: '' } };
}

/** A limit that cannot be judged while the phases are not whole. */
export const asksForPhase = ({ phases, suppressIn, byPhase }: Limit): boolean =>
  phases !== undefined || suppressIn !== undefined || byPhase !== undefined;

/** What drives the machine: what the file says, or the fastest group that its conditions name. */
function readDriver(source: Source, head: Head, list: PhaseItem[], names: ParameterNames): string {
  const driver = head.value['driven by'];
  if (driver === undefined) {
    const driven = fastestGroup(
      list.flatMap(({ value }) => (value.then ?? []).flatMap(({ when }) => namesIn(when))),
      names,
    );
    const known = names.parameters.get(head.value.parameter ?? '');
    if (known) known.drivenBy = driven;
    return driven;
  }
  if (!names.parameters.has(driver) && !names.groups.has(driver))
    unknown(source, ['driven by'], driver, 'parameter or rate group', [
      ...names.groups.names(),
      ...names.parameters.names(),
    ]);
  else if (!names.broken.has(driver) && groupOf(driver, names) === undefined)
    source.add(
      'formula-cycle',
      ['driven by'],
      `${head.value.parameter} driving itself`,
      'a driver that goes back to a rate group',
    );
  return driver;
}

function declareAll(source: Source, list: PhaseItem[]): Names<true> {
  const ids = new Names<true>('phase');
  const titles = new Names<true>('phase');
  for (const { value, path } of list) {
    if (value.id !== undefined) ids.declare(source, [...path, 'id'], value.id, true);
    if (value.name !== undefined) titles.declare(source, [...path, 'name'], value.name, true);
  }
  return ids;
}

interface Around {
  parameter: string;
  driver: string;
  ids: Names<true>;
  names: ParameterNames;
}

function readPhase(source: Source, { value, whole, path }: PhaseItem, around: Around): Phase | undefined {
  const transitions = (value.then ?? []).map((one, i) =>
    readTransition(source, [...path, 'then', i], one, value.id ?? '', i + 1, around),
  );
  if (!whole || transitions.some((one) => one === undefined)) return undefined;
  const { id, name, critical } = value as z.infer<typeof schema.phase>;
  return { id, name, ...(critical && { critical }), transitions: transitions as PhaseTransition[] };
}

function readTransition(
  source: Source,
  path: Path,
  { to, when, for: time }: TransitionText,
  from: string,
  number: number,
  { parameter, driver, ids, names }: Around,
): PhaseTransition | undefined {
  const before = source.troubles;
  if (ids.find(source, [...path, 'to'], to) && to === from)
    source.add('bad-value', [...path, 'to'], shown(to), 'another phase than the one it leaves');
  const seconds = time === undefined ? 0 : readSeconds(source, [...path, 'for'], time, 0, LONGEST);
  const id = condition(source, [...path, 'when'], when, driver, `${parameter}.${from}.${number}`, names);
  if (source.troubles > before || seconds === undefined || names.broken.has(id)) return undefined;
  return { to, when: id, for: microseconds(seconds) };
}

/** A phase that nothing leads to is one that its limits would never be in force in. */
function checkReached(source: Source, list: PhaseItem[], ids: Names<true>) {
  // what is wrong itself may have been meant to lead anywhere
  const isRight = ({ value, whole }: PhaseItem) =>
    whole && (value.then ?? []).every(({ to }) => ids.has(to) && to !== value.id);
  if (!list.every(isRight)) return;
  const leads = new Map(list.map(({ value }) => [value.id, (value.then ?? []).map(({ to }) => to)]));
  const reached = new Set<string | undefined>();
  const open = [list[0]?.value.id];
  for (let id = open.pop(); id !== undefined; id = open.pop()) {
    if (reached.has(id)) continue;
    reached.add(id);
    open.push(...(leads.get(id) ?? []));
  }
  for (const { value, path } of list)
    if (!reached.has(value.id))
      source.add(
        'phase-unreachable',
        [...path, 'id'],
        shown(value.id),
        'a transition of another phase that leads to it',
      );
}
