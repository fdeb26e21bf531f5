import { chmodSync, mkdtempSync, readFileSync, rmSync, truncateSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import fc from 'fast-check';
import { afterEach, beforeEach, expect, test } from 'vitest';
import type { AlarmEvent } from '../../protocol/alarm.ts';
import type { Action, Entry } from '../../protocol/entry.ts';
import type { Mission } from '../../protocol/mission.ts';
import { aircraftTime, groundTime } from '../../protocol/time.ts';
import { Recording } from './recording.ts';
import { RecordingWriter } from './writer.ts';

let dir: string;
beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), 'recording-'));
});
afterEach(() => rmSync(dir, { recursive: true, force: true }));

const START = 1_795_600_000_000_000;
const about = { station: 'Harrowmoss', origin: 'live' as const, started: START };
const file = (name = 'a.flight') => join(dir, name);

const mission = { baselineId: 'b1', name: 'M', groups: [], parameters: [] } as unknown as Mission;
const configuration = (ground: number): Entry => ({
  kind: 'configuration',
  ground: groundTime(ground),
  mission,
  files: [{ name: 'mission.yaml', text: 'name: M\n' }],
});
const frame = (i: number, bytes = 200): Entry => ({
  kind: 'frame',
  ground: groundTime(START + i * 20_000),
  input: 'udp://127.0.0.1:1',
  bytes: Uint8Array.from({ length: bytes }, (_, k) => (i * 31 + k * 7) & 255),
});
const event = (i: number): AlarmEvent => ({
  event: 'raised',
  alarm: `a${i}`,
  family: 'aircraft',
  level: 'warning',
  aircraft: aircraftTime(START + i),
  ground: groundTime(START + i + 1),
  value: 0.1 + i / 3,
  limitValue: i % 2 ? Number.NaN : 95,
  detail: '',
  position: '',
  person: '',
});

/** A recording with something in every table. */
function write(name: string, { frames = 200, close = true, perBlock = 10 } = {}): string {
  const writer = RecordingWriter.create(file(name), about);
  writer.append(configuration(START));
  for (let i = 0; i < frames; i++) {
    writer.append(frame(i));
    if (i % 50 === 7) writer.alarm(event(i));
    if (i % 60 === 9) writer.snapshot({ i, column: new Float64Array([i, Number.NaN, -0]) });
    if (i === 33) {
      const action = { kind: 'action', ground: frame(i).ground, person: 'p', position: 'engine', request: 5 } as const;
      const mark = { ...action, action: { act: 'mark', text: 'event', aircraft: START } as const };
      writer.append(mark);
      writer.action({ entry: writer.entries - 1, action: mark, accepted: true, reason: '' });
    }
    if (i === 44) {
      const [groundFrom, groundTo] = [groundTime(START), groundTime(START + 5)];
      writer.loss({ entry: writer.entries, entries: 3, bytes: 600, groundFrom, groundTo, reason: 'disk full' });
    }
    if (i % perBlock === perBlock - 1) writer.commit();
  }
  if (close) writer.close(START + frames * 20_000);
  else {
    writer.commit();
    writer.abandon();
  }
  return file(name);
}

const actions: fc.Arbitrary<Action> = fc.oneof(
  fc.record({ act: fc.constant('acknowledge' as const), alarm: fc.string() }),
  fc.record({
    act: fc.constant('stop call' as const),
    stopClass: fc.nat(9),
    word: fc.string(),
    reason: fc.string(),
    caller: fc.string(),
    alarm: fc.string(),
  }),
  fc.record({ act: fc.constant('mark' as const), text: fc.string(), aircraft: fc.maxSafeNat() }),
  fc.record({ act: fc.constant('name flight' as const), number: fc.string(), crew: fc.string(), note: fc.string() }),
  fc.constant({ act: 'close flight' as const }),
);
const kinds = fc.oneof(
  fc.record({ kind: fc.constant('frame' as const), input: fc.string(), bytes: fc.uint8Array({ maxLength: 300 }) }),
  fc.constant({ kind: 'tick' as const }),
  fc.record({
    kind: fc.constant('configuration' as const),
    mission: fc.record({ baselineId: fc.string(), name: fc.string() }) as unknown as fc.Arbitrary<Mission>,
    files: fc.array(fc.record({ name: fc.string(), text: fc.string() }), { maxLength: 2 }),
  }),
  fc.record({
    kind: fc.constant('action' as const),
    person: fc.string(),
    position: fc.string(),
    request: fc.nat(),
    action: actions,
  }),
);
const logs = fc.array(fc.tuple(kinds, fc.nat(100_000), fc.boolean()), { maxLength: 40 });

test('entries come back bit-equal, whatever they are and however commits cut them', () => {
  let n = 0;
  fc.assert(
    fc.property(logs, fc.nat(45), (log, from) => {
      const name = file(`p${n++}.flight`);
      const writer = RecordingWriter.create(name, about);
      let ground = START;
      const entries = log.map(([kind, step, commit]) => {
        ground += step;
        const entry = { ...kind, ground: groundTime(ground) } as Entry;
        writer.append(entry);
        if (commit) writer.commit();
        return entry;
      });
      writer.close(ground);
      const recording = Recording.open(name);
      expect(recording.length).toBe(entries.length);
      expect(plain([...recording.entries(from)])).toEqual(plain(entries.slice(from)));
      expect(recording.verify().changes).toEqual([]);
      recording.close();
    }),
    { seed: 7, numRuns: 40 },
  );
});

/** Frame bytes are Buffers or Uint8Arrays, by where they come from; what counts is the bytes. */
const plain = (entries: Entry[]) =>
  entries.map((entry) => ('bytes' in entry ? { ...entry, bytes: [...entry.bytes] } : { ...entry }));

test('a recording continued after a crash holds everything that was committed, in one chain', () => {
  const name = write('a.flight', { frames: 55, close: false });
  expect(Recording.unfinished(dir)).toEqual([name]);
  const writer = RecordingWriter.resume(name);
  expect(Recording.unfinished(dir)).toEqual([]);
  expect(writer.entries).toBe(57);
  for (let i = 55; i < 70; i++) writer.append(frame(i));
  writer.alarm(event(99));
  writer.close(START + 70 * 20_000);
  expect(Recording.unfinished(dir)).toEqual([]);
  const recording = Recording.open(name);
  expect(recording.length).toBe(72);
  expect(recording.verify()).toMatchObject({ intact: true, closed: true, notes: [] });
  expect(recording.alarms().at(-1)).toEqual(event(99));
  recording.close();
  expect(() => RecordingWriter.resume(name)).toThrow(/closed; nothing can be added/);
});

test('two writers cannot have one file', () => {
  const name = write('a.flight', { close: false });
  const writer = RecordingWriter.resume(name);
  expect(() => RecordingWriter.resume(name)).toThrow(/another station is recording into it/);
  expect(() => RecordingWriter.create(name, about)).toThrow(/another station|exists already/);
  writer.abandon();
});

test('alarm lines, actions, marks, baselines, losses and snapshots are rows', () => {
  const recording = Recording.open(write('a.flight'));
  expect(recording.alarms()).toEqual([7, 57, 107, 157].map(event));
  expect(recording.actions()).toMatchObject([{ accepted: true, entry: 35, action: { action: { text: 'event' } } }]);
  expect(recording.marks()).toMatchObject([{ text: 'event', aircraft_us: START, entry: 35 }]);
  expect(recording.baselines().map((row) => [row.entry, row.name])).toEqual([
    [0, 'mission.json'],
    [0, 'mission.yaml'],
  ]);
  expect(recording.losses()).toMatchObject([{ entries: 3, reason: 'disk full' }]);
  expect(recording.snapshots).toBe(4);
  expect(recording.configurationBefore(100)).toMatchObject({ kind: 'configuration', mission: { baselineId: 'b1' } });
  expect(recording.configurationBefore(0)).toBeUndefined();
  recording.close();
});

test('a place is found by entry and by ground time', () => {
  const recording = Recording.open(write('a.flight'));
  const [first] = recording.entries(100);
  expect(first).toMatchObject({ ground: START + 98 * 20_000 });
  expect(recording.entryAfter(START + 98 * 20_000)).toBe(101);
  expect(recording.entryAfter(START + 98 * 20_000 - 1)).toBe(100);
  expect(recording.entryAfter(0)).toBe(0);
  expect(recording.entryAfter(START * 2)).toBe(202);
  expect(recording.snapshotBefore({ entry: 72 })).toMatchObject({ entry: 72, state: { i: 69 } });
  expect(recording.snapshotBefore({ entry: 71 })).toMatchObject({ entry: 11, state: { i: 9 } });
  expect(recording.snapshotBefore({ entry: 10 })).toBeUndefined();
  expect(recording.snapshotBefore({ groundUs: START + 69 * 20_000 })).toMatchObject({ entry: 72 });
  expect(recording.snapshotBefore({ groundUs: START + 69 * 20_000 - 1 })).toMatchObject({ entry: 11 });
  const state = recording.snapshotBefore({ entry: 72 })?.state as { column: Float64Array };
  expect(Object.is(state.column[2], -0)).toBe(true);
  recording.close();
});

test.each([
  ['UPDATE block SET bytes = zeroblob(length(bytes)) WHERE number = 3', ['block 3']],
  ['UPDATE block SET ground_to_us = ground_to_us + 1 WHERE number = 4', ['block 4']],
  ["UPDATE block SET chain = replace(chain, substr(chain, 1, 1), 'x') WHERE number = 5", ['block 5']],
  ['DELETE FROM block WHERE number = 6', ['block 6']],
  ['UPDATE alarm SET value = value + 1e-9 WHERE number = 2', ['alarm 2']],
  ['UPDATE action SET accepted = 0', ['action 1']],
  ["UPDATE mark SET text = 'other'", ['mark 1']],
  ["UPDATE baseline SET text = text || ' ' WHERE number = 2", ['baseline 2']],
  ['UPDATE loss SET entries = 0', ['loss 1']],
  ['UPDATE snapshot SET bytes = zeroblob(3) WHERE number = 1', ['snapshot 1']],
  ['DELETE FROM alarm WHERE number = 4', ['block 16']],
  ['DELETE FROM alarm WHERE number = 1', ['alarm 1', 'block 1']],
  [
    'INSERT INTO mark SELECT 2, block, entry, ground_us, aircraft_us, person, position, text, sha256 FROM mark',
    ['mark 2', 'block 4'],
  ],
  ["UPDATE about SET value = 'Elsewhere' WHERE key = 'station'", ['block 1', 'about 0']],
  ["UPDATE about SET value = '9' WHERE key = 'entries'", ['about 0']],
  ['DELETE FROM block WHERE number = 20', ['about 0']],
])('names what was changed: %s', (sql, named) => {
  const name = write('a.flight');
  const db = new Database(name);
  db.exec(sql);
  db.close();
  const recording = Recording.open(name);
  const { intact, changes } = recording.verify();
  recording.close();
  expect(intact).toBe(false);
  const places = changes.map((change) => `${change.table} ${change.number}`);
  for (const place of named) expect(places).toContain(place);
  // nothing innocent is accused
  const blocks = places.filter((place) => place.startsWith('block'));
  expect(blocks.length).toBeLessThanOrEqual(Math.max(1, named.filter((place) => place.startsWith('block')).length));
});

test('finds every flipped bit of a closed recording, used or unused', () => {
  const name = write('a.flight', { frames: 120 });
  const original = readFileSync(name);
  fc.assert(
    fc.property(fc.nat(original.length - 1), fc.nat(7), (at, bit) => {
      const bytes = Uint8Array.from(original);
      bytes[at] = (bytes[at] as number) ^ (1 << bit);
      const flipped = file('flipped.flight');
      writeFileSync(flipped, bytes);
      let found: boolean;
      try {
        const recording = Recording.open(flipped);
        found = !recording.verify().intact;
        recording.close();
      } catch (error) {
        found = (error as Error).message.includes(flipped);
      }
      rmSync(flipped, { force: true });
      return found;
    }),
    { seed: 11, numRuns: 400 },
  );
});

test('refuses what is no recording, and says why', () => {
  const open = (name: string) => () => Recording.open(file(name)).close();
  expect(open('none.flight')).toThrow(/no such file/);
  writeFileSync(file('empty.flight'), '');
  expect(open('empty.flight')).toThrow(/empty/);
  writeFileSync(file('text.flight'), 'time,value\n1,2\n'.repeat(20));
  expect(open('text.flight')).toThrow(/not an SQLite file/);
  new Database(file('other.flight')).exec('CREATE TABLE t (a)').close();
  expect(open('other.flight')).toThrow(/but not a recording/);
  const cut = write('cut.flight');
  truncateSync(cut, 9000);
  expect(open('cut.flight')).toThrow(/cut off: 9000 bytes where its own header says \d+/);
  truncateSync(cut, 50);
  expect(open('cut.flight')).toThrow(/cut off|not a recording/);
  const newer = new Database(write('newer.flight'));
  newer.pragma('user_version = 99');
  newer.close();
  expect(open('newer.flight')).toThrow(/written by a newer groundchase \(tables version 99; this one reads up to 2\)/);
  expect(() => Recording.open(dir)).toThrow(/not a file/);
});

test('a closed recording on a read-only disk can be read and not be continued', () => {
  const name = write('a.flight');
  chmodSync(name, 0o444);
  chmodSync(dir, 0o555);
  const recording = Recording.open(name);
  expect(recording.verify().intact).toBe(true);
  recording.close();
  chmodSync(dir, 0o755);
  expect(() => RecordingWriter.resume(name)).toThrow(/closed|read-only/);
});

test('a damaged block stops the reading with its number', () => {
  const name = write('a.flight');
  const db = new Database(name);
  db.exec('UPDATE block SET bytes = zeroblob(9) WHERE number = 3');
  db.close();
  const recording = Recording.open(name);
  expect(() => [...recording.entries()]).toThrow(/block 3/);
  recording.close();
});

test('a reader that stops early leaves nothing open', () => {
  const recording = Recording.open(write('big.flight', { frames: 4000, perBlock: 100 }));
  let seen = 0;
  for (const entry of recording.entries()) {
    expect(entry.ground).toBeGreaterThan(0);
    if (++seen === 150) break;
  }
  // a reader that stops early leaves nothing open
  recording.close();
  expect(seen).toBe(150);
});
