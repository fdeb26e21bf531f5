/** Rows of the documented tables from the shapes of protocol/, and back. */
import type { AlarmEvent } from '../../protocol/alarm.ts';
import type { ActionEntry, ConfigurationEntry, Entry } from '../../protocol/entry.ts';
import { aircraftTime, type GroundTime, groundTime } from '../../protocol/time.ts';
import type { RowTable, RowValues } from './schema.ts';

/** One row on its way into the file; its number, block and hash are added when it is committed. */
export interface NewRow {
  table: RowTable;
  values: RowValues;
}

/** What became of an action. */
export interface ActionOutcome {
  entry: number;
  action: ActionEntry;
  accepted: boolean;
  reason: string;
}

/** A run of entries that could not be kept. */
export interface Loss {
  entry: number;
  entries: number;
  bytes: number;
  groundFrom: GroundTime;
  groundTo: GroundTime;
  reason: string;
}

/** SQLite has no NaN: NULL stands for it. */
const real = (value: number): number | null => (Number.isNaN(value) ? null : value);

export const alarmRow = (entry: number, event: AlarmEvent): NewRow => ({
  table: 'alarm',
  values: [
    entry,
    event.event,
    event.alarm,
    event.family,
    event.level,
    real(event.aircraft),
    real(event.ground),
    real(event.value),
    real(event.limitValue),
    event.position,
    event.person,
    event.detail,
  ],
});

export function actionRows({ entry, action, accepted, reason }: ActionOutcome): NewRow[] {
  const { ground, person, position, request } = action;
  const detail = JSON.stringify(action.action);
  const act = action.action.act;
  const rows: NewRow[] = [
    { table: 'action', values: [entry, ground, person, position, request, act, detail, accepted ? 1 : 0, reason] },
  ];
  if (accepted && action.action.act === 'mark') {
    const { aircraft, text } = action.action;
    rows.push({ table: 'mark', values: [entry, ground, aircraft, person, position, text] });
  }
  return rows;
}

export function baselineRows(entry: number, configuration: ConfigurationEntry): NewRow[] {
  const id = configuration.mission.baselineId;
  const mission = { name: 'mission.json', text: JSON.stringify(configuration.mission) };
  return [mission, ...configuration.files].map(({ name, text }) => ({
    table: 'baseline',
    values: [entry, id, name, text],
  }));
}

export const lossRow = (loss: Loss): NewRow => ({
  table: 'loss',
  values: [loss.entry, loss.entries, loss.bytes, loss.groundFrom, loss.groundTo, loss.reason],
});

/** Rows that follow from entries alone. */
export const rowsOf = (first: number, entries: readonly Entry[]): NewRow[] =>
  entries.flatMap((entry, i) => (entry.kind === 'configuration' ? baselineRows(first + i, entry) : []));

type Row = Record<string, unknown>;

const number = (value: unknown): number => (value === null || value === undefined ? Number.NaN : Number(value));

export const alarmEvent = (row: Row): AlarmEvent => ({
  event: row['event'] as AlarmEvent['event'],
  alarm: String(row['alarm']),
  family: row['family'] as AlarmEvent['family'],
  level: row['level'] as AlarmEvent['level'],
  aircraft: aircraftTime(number(row['aircraft_us'])),
  ground: groundTime(number(row['ground_us'])),
  value: number(row['value']),
  limitValue: number(row['limit_value']),
  position: String(row['position']),
  person: String(row['person']),
  detail: String(row['detail']),
});

export const actionOutcome = (row: Row): ActionOutcome => ({
  entry: number(row['entry']),
  action: {
    kind: 'action',
    ground: groundTime(number(row['ground_us'])),
    person: String(row['person']),
    position: String(row['position']),
    request: number(row['request']),
    action: JSON.parse(String(row['detail'])) as ActionEntry['action'],
  },
  accepted: row['accepted'] === 1,
  reason: String(row['reason']),
});

export const loss = (row: Row): Loss => ({
  entry: number(row['entry']),
  entries: number(row['entries']),
  bytes: number(row['bytes']),
  groundFrom: groundTime(number(row['ground_from_us'])),
  groundTo: groundTime(number(row['ground_to_us'])),
  reason: String(row['reason']),
});
