/**
 * Hazard, mitigation, control, watcher as rows to read across: what may happen, what is done against it, by which limit,
 * checklist, card or procedure, and who sits there today.
 */
import type { Limit } from './limit.ts';
import type { Mission } from './mission.ts';
import type { Hazard, Mitigation } from './procedure.ts';
import type { Position } from './role.ts';

/** Limits that the loader makes, which say that another one is blind, have a dot in their id and stand with that one. */
const isMade = ({ id }: Limit): boolean => id.includes('.');

/** A person has to act on it: it has a warning or a stop level, on some side, in some phase. */
export function asksToAct(limit: Limit): boolean {
  const { above, below, byPhase } = limit;
  const sets = [{ above, below }, ...Object.values(byPhase ?? {})];
  const isUrgent = sets.some((set) =>
    [set.above, set.below].some((side) => side?.warning !== undefined || side?.stop !== undefined),
  );
  return isUrgent && !isMade(limit);
}

export type ControlKind = 'limit' | 'checklist' | 'card' | 'procedure';

export interface TraceRow {
  hazard: string;
  title: string;
  severity: Hazard['severity'];
  owner: Position;
  /** '' in the one row of a hazard without mitigation */
  mitigation: string;
  text: string;
  control: ControlKind | '';
  /** id of the control, or the words of the procedure; '' in the one row of a mitigation without control */
  id: string;
  /** what the room calls it */
  name: string;
  /** who watches or does it: a limit's watcher, the test conductor for a card, else the owner; '' = nobody */
  watcher: Position | '';
  /** names of the people who sit there; empty = nobody */
  people: string[];
}

/**
 * One row for each control, in the order of the file: limits, checklists, cards, procedure. `watcherOf` tells who watches a
 * limit now, where watches were handed over; left out = as the limit says. A control that the mission lacks keeps its id as
 * its name.
 */
export function hazardTrace(mission: Mission, watcherOf?: (limit: Limit) => Position | ''): TraceRow[] {
  const seats = new Map<string, string[]>();
  for (const { name, position } of mission.people) seats.set(position, [...(seats.get(position) ?? []), name]);
  return (mission.hazards ?? []).flatMap((hazard) => {
    const { id, title, severity, owner } = hazard;
    const head = { hazard: id, title, severity, owner };
    const row = (mitigation: Partial<Mitigation>, control: Control): TraceRow => ({
      ...head,
      ...{ mitigation: mitigation.id ?? '', text: mitigation.text ?? '' },
      ...control,
      people: seats.get(control.watcher) ?? [],
    });
    if (hazard.mitigations.length === 0) return [row({}, nothing)];
    return hazard.mitigations.flatMap((mitigation) => {
      const controls = controlsOf(mitigation, owner, mission, watcherOf);
      return (controls.length > 0 ? controls : [nothing]).map((control) => row(mitigation, control));
    });
  });
}

type Control = Pick<TraceRow, 'control' | 'id' | 'name' | 'watcher'>;
const nothing: Control = { control: '', id: '', name: '', watcher: '' };

function controlsOf(
  { limits, checklists, cards, procedure }: Mitigation,
  owner: Position,
  mission: Mission,
  watcherOf: ((limit: Limit) => Position | '') | undefined,
): Control[] {
  const named = <T extends { id: string }>(list: readonly T[] | undefined, id: string) =>
    list?.find((one) => one.id === id);
  return [
    ...limits.map((id): Control => {
      const limit = named(mission.limits, id);
      const watcher = limit === undefined ? '' : watcherOf ? watcherOf(limit) : (limit.watcher as Position);
      return { control: 'limit', id, name: limit?.text ?? nameOf(mission, limit?.parameter) ?? id, watcher };
    }),
    ...checklists.map(
      (id): Control => ({ control: 'checklist', id, name: named(mission.checklists, id)?.title ?? id, watcher: owner }),
    ),
    ...cards.map(
      (id): Control => ({
        control: 'card',
        id,
        name: named(mission.cards, id)?.title ?? id,
        watcher: 'test conductor',
      }),
    ),
    ...(procedure === '' ? [] : [{ control: 'procedure', id: procedure, name: procedure, watcher: owner } as const]),
  ];
}

const nameOf = ({ parameters, derived }: Mission, id: string | undefined): string | undefined =>
  [...parameters, ...derived].find((one) => one.id === id)?.name;
