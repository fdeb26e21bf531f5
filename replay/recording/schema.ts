/**
 * What a recording is on disk: one SQLite file for a flight, `<date>-<flight>-<n>.flight`, readable by any SQLite tool.
 * The comments stand inside the statements, so that a tool that shows the schema shows them too.
 */
import type Database from 'better-sqlite3';

/** Ending of a recording's file name. */
export const RECORDING_ENDING = '.flight';

/** `PRAGMA application_id` of a recording: the bytes "GCfl". */
export const APPLICATION_ID = 0x4743666c;

/** Version of the tables below. Version 1 was never released; its alarm lines lack the detail. */
export const SCHEMA_VERSION = 2;

/**
 * Tables whose rows a person may read without this program. Every row has its own `number` from 1, the `block` it was
 * committed with, and the `sha256` of its content (chain.ts); all of them together are sealed by the block's chain.
 */
export const rowTables = {
  alarm: {
    what: 'the alarm list as the room saw it, line by line',
    columns: {
      entry: 'INTEGER -- entries of the log folded when the line came out',
      event:
        'TEXT    -- raised, escalated, eased, cleared, cannot tell, acknowledged, freed, shelved, suppressed, out of service, in service',
      alarm: 'TEXT    -- id of the limit or data-quality condition',
      family: 'TEXT    -- aircraft or data',
      level: 'TEXT    -- advisory, caution, warning, stop, or empty',
      aircraft_us: 'INTEGER -- aircraft time, microseconds since the Unix epoch, UTC',
      ground_us: 'INTEGER -- ground time, likewise',
      value: 'REAL    -- in the unit of the parameter; NULL where there is none',
      limit_value: 'REAL    -- the limit crossed; NULL where there is none',
      position: 'TEXT    -- for what a person did: whose',
      person: 'TEXT',
      detail: 'TEXT    -- which of several things it is; for what a person put aside, why',
    },
  },
  action: {
    what: 'what people did or tried to do',
    columns: {
      entry: 'INTEGER -- place of the action in the log, from 0',
      ground_us: 'INTEGER -- ground time, microseconds since the Unix epoch, UTC',
      person: 'TEXT',
      position: 'TEXT',
      request: 'INTEGER -- number the display gave it',
      act: 'TEXT    -- acknowledge, stop call, stop step, mark, shelve, change limit and so on',
      detail: 'TEXT    -- all of the action, JSON',
      accepted: 'INTEGER -- 1 or 0',
      reason: 'TEXT    -- why not',
    },
  },
  mark: {
    what: 'event marks',
    columns: {
      entry: 'INTEGER -- place of the action in the log, from 0',
      ground_us: 'INTEGER -- ground time, microseconds since the Unix epoch, UTC',
      aircraft_us: 'INTEGER -- aircraft time shown when the key was pressed; 0 = unknown',
      person: 'TEXT',
      position: 'TEXT',
      text: 'TEXT',
    },
  },
  baseline: {
    what: 'the files of every mission baseline that was put in force, as they were written',
    columns: {
      entry: 'INTEGER -- place of the configuration in the log, from 0',
      baseline_id: 'TEXT',
      name: 'TEXT    -- file name; mission.json = the whole mission as loaded',
      text: 'TEXT',
    },
  },
  loss: {
    what: 'entries that could not be kept (disk too slow or full): a gap in this recording',
    columns: {
      entry: 'INTEGER -- place in the log where they are missing',
      entries: 'INTEGER -- how many',
      bytes: 'INTEGER',
      ground_from_us: 'INTEGER',
      ground_to_us: 'INTEGER',
      reason: 'TEXT',
    },
  },
  snapshot: {
    what: 'state of the pipeline every few seconds, so that a replay can begin there; all of it follows from the blocks',
    columns: {
      entry: 'INTEGER -- entries folded into the state',
      ground_us: 'INTEGER -- ground time of the last of them',
      codec: 'INTEGER -- 1 = brotli over the structured serialization of V8',
      bytes: 'BLOB',
    },
  },
} as const;

export type RowTable = keyof typeof rowTables;
export const rowTableNames = Object.keys(rowTables) as RowTable[];

/** Content columns of a table, in order. */
export const contentColumns = (table: RowTable): string[] => Object.keys(rowTables[table].columns);

/** Column values of one row, in the order of `contentColumns`. */
export type RowValues = (string | number | bigint | Uint8Array | null)[];

const fixedTables = `
CREATE TABLE about (
  -- facts of the whole file; see the rows
  key   TEXT PRIMARY KEY,
  value TEXT NOT NULL
) WITHOUT ROWID;

CREATE TABLE block (
  -- the flight log itself: runs of entries, packed and chained
  number         INTEGER PRIMARY KEY, -- from 1, no gaps
  first_entry    INTEGER NOT NULL,    -- place of its first entry in the log, from 0
  entries        INTEGER NOT NULL,
  ground_from_us INTEGER NOT NULL,    -- ground time of its first and last entry; of the last entry before when empty
  ground_to_us   INTEGER NOT NULL,
  codec          INTEGER NOT NULL,    -- 1 = brotli over one EntryBlock message (flight-log.proto); 2: block.ts
  plain_bytes    INTEGER NOT NULL,    -- length before packing
  rows_sha256    TEXT NOT NULL,       -- over the sha256 of the rows committed with it
  bytes          BLOB NOT NULL,
  chain          TEXT NOT NULL        -- sha256(chain before + the columns above + bytes)
);
`;

function rowTableSql(name: RowTable): string {
  const { what, columns } = rowTables[name];
  const lines = Object.entries(columns).map(([column, type]) => {
    const [kind, comment] = type.split(/\s+-- /);
    return `  ${column} ${kind},${comment ? ` -- ${comment}` : ''}`;
  });
  return [
    `CREATE TABLE ${name} (`,
    `  -- ${what}`,
    '  number INTEGER PRIMARY KEY, -- from 1, no gaps',
    '  block INTEGER NOT NULL, -- committed with it',
    ...lines,
    '  sha256 TEXT NOT NULL -- of the content of this row',
    ');',
  ].join('\n');
}

/** Makes the tables in an empty database. */
export function createTables(db: Database.Database): void {
  db.pragma(`application_id = ${APPLICATION_ID}`);
  db.pragma(`user_version = ${SCHEMA_VERSION}`);
  db.exec([fixedTables, ...rowTableNames.map(rowTableSql)].join('\n'));
}

/** Facts in `about`. Those of `start` never change and begin the chain; the rest is written at the end. */
export interface About {
  /** version of the tables */
  schema: string;
  /** name of the station that recorded */
  station: string;
  /** live, rehearsal, import */
  origin: string;
  /** ground time the file was made, ISO 8601 */
  started: string;
  /** file the entries were imported from, or '' */
  source: string;
  /** open while being recorded (or after a crash), closed when complete */
  state: 'open' | 'closed';
}

/** The facts of `about` that are written at creation and never change, in the order they are hashed. */
export const startFacts = ['schema', 'station', 'origin', 'started', 'source'] as const;

/** Key of the hash over the whole file, and what stands there until it is known. */
export const FILE_HASH_KEY = 'file_sha256';
export const FILE_HASH_UNKNOWN = '0'.repeat(64);
