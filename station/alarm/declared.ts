/** What a mission says of its alarms, looked up once: who watches and owns each, what explains it, where it is measured. */
import { type AlarmDefinition, alarmDefinitions } from '../../protocol/alarm.ts';
import { type Finding, type FindingCode, nearestName } from '../../protocol/finding.ts';
import type { Limit } from '../../protocol/limit.ts';
import type { KindName } from '../../protocol/limit-kinds.ts';
import { type ColumnPlace, columnPlaces, type Mission } from '../../protocol/mission.ts';
import { type Position, positions } from '../../protocol/role.ts';

/** Those who have the whole room in view: every alarm is also theirs. */
export const WHOLE_ROOM: readonly Position[] = ['test conductor', 'test director'];

/** Kinds that compare the parameter's own value; the others measure something of it, such as its rate. */
const ofOwnValue: ReadonlySet<KindName> = new Set(['level', 'peak', 'by phase', 'card stop']);

export interface DeclaredAlarm {
  definition: AlarmDefinition;
  /** where its parameter stands; undefined where what is measured is not the parameter's own value */
  watched: ColumnPlace | undefined;
  /** positions, as bits by their place in `positions`, of which any one's acknowledgement lets the latch free */
  owners: number;
  /** places in `positions` of those at whom it is announced: its watcher and who has the whole room in view */
  audience: readonly number[];
  /** places of the alarms that explain it, directly or by way of others */
  causes: ReadonlySet<number>;
}

/** All that can be alarmed, in the order of `alarmDefinitions`. To be called when `findingsOf` found nothing. */
export function declaredAlarms(mission: Mission): DeclaredAlarm[] {
  const definitions = alarmDefinitions(mission);
  const columns = placesOf(mission);
  const numbers = new Map(definitions.map(({ id }, i) => [id, i]));
  const direct = definitions.map(({ causedBy }) => causedBy.map((id) => numbers.get(id) as number));
  return definitions.map((definition, i) => ({
    definition,
    watched: watchedOf(mission.limits[i], columns),
    owners: ownersOf(definition.watcher, mission),
    audience: audienceOf(definition.watcher),
    causes: causesOf(i, direct),
  }));
}

function watchedOf(limit: Limit | undefined, columns: ReadonlyMap<string, ColumnPlace>): ColumnPlace | undefined {
  if (!limit || limit.family === 'data' || !ofOwnValue.has(limit.kind)) return undefined;
  return columns.get(limit.parameter);
}

/** Places in `positions` of those at whom the alarms of a watcher are announced, rising. */
export const audienceOf = (watcher: string): number[] =>
  positions.flatMap((position, p) => (position === watcher || WHOLE_ROOM.includes(position) ? [p] : []));

/** Alarms reached by following causes, however far; never the alarm itself, should somebody declare a circle. */
function causesOf(i: number, direct: readonly (readonly number[])[]): ReadonlySet<number> {
  const found = new Set<number>();
  const left = [i];
  for (let next = left.pop(); next !== undefined; next = left.pop()) {
    for (const cause of direct[next] as readonly number[]) {
      if (cause === i || found.has(cause)) continue;
      found.add(cause);
      left.push(cause);
    }
  }
  return found;
}

/** Where parameters stand. One that has no place has a finding of another stage; then none is found. */
export function placesOf(mission: Mission): ReadonlyMap<string, ColumnPlace> {
  try {
    return columnPlaces(mission);
  } catch {
    return new Map();
  }
}

/** The watcher; the test conductor where nobody sits there; anybody where neither is manned. */
function ownersOf(watcher: string, mission: Mission): number {
  const manned = new Set<string>(mission.people.map((person) => person.position));
  const owner = [watcher, 'test conductor'].find((position) => manned.has(position));
  return owner === undefined ? (1 << positions.length) - 1 : 1 << positions.indexOf(owner as Position);
}

/** All that is wrong with who watches what, what explains it, and when it is suppressed. */
export function findingsOf(mission: Mission): Finding[] {
  const findings: Finding[] = [];
  const definitions = alarmDefinitions(mission);
  const ids = definitions.map(({ id }) => id);
  const ofData = new Set(ids.slice(mission.limits.length));
  const phases = mission.phases?.phases.map(({ id }) => id) ?? [];
  for (const limit of mission.limits) {
    const find = (key: string, code: FindingCode, found: string, expected: string, hint?: string): void => {
      const place = limit.places?.[key] ?? limit.place ?? { file: 'limits.yaml', line: 0, column: 0 };
      findings.push({ code, ...place, found: `limit ${limit.id}${found}`, expected, ...(hint && { hint }) });
    };
    const unknown = (key: string, says: string, name: string, names: readonly string[], expected: string): void => {
      if (names.includes(name)) return;
      const near = nearestName(name, names);
      find(key, 'unknown-name', `: ${says} ${name}`, expected, near && `did you mean ${near}?`);
    };
    unknown('watcher', 'watcher', limit.watcher, positions, `a position: ${positions.join(', ')}`);
    for (const id of limit.causedBy ?? []) unknown('caused by', 'caused by', id, ids, 'the id of an alarm');
    for (const id of limit.suppressIn ?? []) {
      const expected = phases.length > 0 ? `a phase: ${phases.join(', ')}` : 'no phase: none is declared';
      unknown('suppress in', 'suppressed in', id, phases, expected);
    }
    if (ofData.has(limit.id)) find('id', 'duplicate-name', '', 'an id that no data-quality condition has');
  }
  return findings;
}
