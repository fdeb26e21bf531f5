/** The mission baseline: everything a flight is watched by, loaded and checked. Serializable as JSON. */
import type { Limit } from './limit.ts';
import type { Card, Family } from './card.ts';
import { type CountFormat, type Derived, formatBytes, type Parameter, type RateGroup } from './parameter.ts';
import type { Checklist, Hazard, MaintenanceRow, Sequence } from './procedure.ts';
import type { PhaseMachine } from './phase.ts';
import type { ReadinessPlan } from './readiness.ts';
import type { Position } from './role.ts';
import type { BriefedWords } from './stop-call.ts';
import type { StreamMapping } from './stream-mapping.ts';
import type { Boundary, Table } from './table.ts';
import type { Microseconds } from './time.ts';

export interface Person {
  /** short id, unique; what entries carry */
  id: string;
  name: string;
  position: Position;
}

export interface MissionReceiver {
  name: string;
  /** for a stream without receiver envelopes: the input whose messages are this receiver's ("tcp://127.0.0.1:47010") */
  input?: string;
}

export interface Mission {
  /** SHA-256 (hexadecimal) of all that follows but the pages */
  baselineId: string;
  name: string;
  /** stream id the frames must carry */
  stream: string;
  aircraft: {
    name: string;
    softwareId: string;
    configurationId: string;
    /** it can be destroyed or disabled by command; absent = not said, which counts as true */
    terminationSystem?: boolean;
  };
  receivers: MissionReceiver[];
  /** how to read a stream of another make; absent = the frames of downlink.proto. It has no checksum */
  mapping?: StreamMapping;
  people: Person[];
  /** positions that may call class 2 directly today; absent = none beyond those of role.ts */
  mayCallClass2?: Position[];
  words: BriefedWords;
  groups: RateGroup[];
  parameters: Parameter[];
  derived: Derived[];
  /** what formulas may look up; absent = none */
  tables?: Table[];
  boundaries?: Boundary[];
  /** phases of flight; absent = none declared */
  phases?: PhaseMachine;
  limits: Limit[];
  /** ground time an alarm is shelved for when nothing else is said; absent = ten minutes */
  shelveFor?: Microseconds;
  /** absent = none declared */
  cards?: Card[];
  families?: Family[];
  /** anomalies of earlier flights that are still open: no point is cleared while one is */
  anomalies?: { text: string; source: string }[];
  readiness?: ReadinessPlan;
  sequences?: Sequence[];
  checklists?: Checklist[];
  hazards?: Hazard[];
  maintenance?: MaintenanceRow[];
  pages: Page[];
}

/** A page of the display: rows of elements, top to bottom. */
export interface Page {
  id: string;
  title: string;
  /** positions it is meant for; empty = all */
  positions: string[];
  rows: PageRow[];
}

export interface PageRow {
  /** share of the page height */
  height: number;
  elements: PageElement[];
}

export interface PageElement {
  kind: 'strip chart' | 'tape' | 'dial' | 'number' | 'attitude' | 'states';
  title?: string;
  /** parameter ids; attitude takes pitch, roll, heading in this order */
  parameters: string[];
  /** scale ends; default: the physical range */
  range?: [number, number];
  /** seconds across a strip chart; default 60 */
  span?: number;
  /** share of the row width; default 1 */
  width?: number;
}

/** All columns in order: received parameters, then derived ones. */
export function columnIds(mission: Mission): string[] {
  return [...mission.parameters.map((p) => p.id), ...mission.derived.map((d) => d.id)];
}

/** Rate group number of every column; a derived one has the group of what drives it. Throws on an unknown name. */
export function columnGroups(mission: Mission): number[] {
  const numbers = new Map(mission.groups.map((group, i) => [group.id, i]));
  const groupOf = new Map<string, number>();
  const result: number[] = [];
  for (const parameter of mission.parameters) {
    const group = numbers.get(parameter.group);
    if (group === undefined)
      throw new Error(`parameter ${parameter.id} names the unknown rate group ${parameter.group}`);
    groupOf.set(parameter.id, group);
    result.push(group);
  }
  const left = new Map(mission.derived.map((derived) => [derived.id, derived.drivenBy]));
  for (const { id } of mission.derived) {
    const path: string[] = [];
    let group: number | undefined;
    for (let name = id; group === undefined; ) {
      group = groupOf.get(name) ?? (left.has(name) ? undefined : numbers.get(name));
      if (group !== undefined) break;
      const driver = left.get(name);
      if (driver === undefined || path.length > left.size) throw new Error(`nothing drives ${name}`);
      path.push(name);
      name = driver;
    }
    for (const name of path) groupOf.set(name, group);
    result.push(group);
  }
  return result;
}

/** Where a column stands: its rate group, and its place in `Batch.columns` of that group. */
export interface ColumnPlace {
  group: number;
  place: number;
}

/** The place of every column by parameter id. Throws like `columnGroups`. */
export function columnPlaces(mission: Mission): Map<string, ColumnPlace> {
  const ids = columnIds(mission);
  const taken = mission.groups.map(() => 0);
  return new Map(
    columnGroups(mission).map((group, column) => {
      const place = taken[group] as number;
      taken[group] = place + 1;
      return [ids[column] as string, { group, place }];
    }),
  );
}

/** The parameters of a rate group that travel on the wire, in wire order: wider formats first, then file order. */
export function wireOrder(mission: Mission, group: string): Parameter[] {
  return mission.parameters
    .filter((parameter) => parameter.group === group && parameter.format !== undefined)
    .map((parameter, i) => ({ parameter, i, bytes: formatBytes[parameter.format as CountFormat] }))
    .sort((a, b) => b.bytes - a.bytes || a.i - b.i)
    .map(({ parameter }) => parameter);
}
