import Database from 'better-sqlite3';
import { afterEach, expect, test } from 'vitest';
import type { Entry } from '../../protocol/entry.ts';
import type { Mission } from '../../protocol/mission.ts';
import { groundTime } from '../../protocol/time.ts';
import { temporaryFolder } from '../../test/support/temporary-folder.ts';
import { digestOf, readBack } from './read-back.ts';
import { openRecorder, type Recorder, type RecorderOptions } from './record.ts';

const START = 1_795_600_000_000_000;
const open: Recorder[] = [];
afterEach(async () => {
  for (const recorder of open.splice(0)) await recorder.close(groundTime(START));
});

const recorder = (more: Partial<RecorderOptions> = {}): Recorder => {
  const dir = temporaryFolder();
  const started = groundTime(START);
  const opened = openRecorder({ dir, name: 'SM1X', station: 'A', origin: 'live', started, ...more });
  open.push(opened);
  return opened;
};
const configuration: Entry = {
  kind: 'configuration',
  ground: groundTime(START),
  mission: { baselineId: 'b1' } as Mission,
  files: [],
};
const frame = (i: number): Entry => ({
  kind: 'frame',
  ground: groundTime(START + i * 20_000),
  input: 'in',
  // bytes that do not pack
  bytes: Uint8Array.from(
    { length: 900 },
    (_, k) => Math.imul(Math.imul(i * 900 + k + 1, 0x9e3779b1) >>> 7, 0x85ebca6b) >>> 24,
  ),
});

async function written(count: number, more: Partial<RecorderOptions> = {}) {
  const to = recorder(more);
  await to.ready;
  const entries = [configuration, ...Array.from({ length: count - 1 }, (_, i) => frame(i))];
  for (const entry of entries) to.append(entry);
  return { to, entries };
}

test('what was given to the recorder is on disk, intact and the same, as soon as it is asked', async () => {
  const { to } = await written(20);
  expect(await to.readBack()).toEqual({
    state: 'verified',
    text: '20 entries written and read back the same; the chain is intact',
  });
  for (let i = 20; i < 200; i++) to.append(frame(i));
  expect((await to.readBack()).text).toContain('64 entries written');
});

test('a byte that changes on the way to the disk is trouble, and is named', async () => {
  const { to } = await written(20);
  await to.flush();
  const db = new Database(to.state().file);
  const { bytes } = db.prepare('SELECT bytes FROM block WHERE number = 1').get() as { bytes: Buffer };
  bytes[bytes.length >> 1] = (bytes[bytes.length >> 1] as number) ^ 1;
  db.prepare('UPDATE block SET bytes = ? WHERE number = 1').run(bytes);
  db.close();
  const { state, text } = await to.readBack();
  expect(state).toBe('trouble');
  expect(text).toContain('block 1: changed');
});

test('entries that are missing, or are others, are trouble', async () => {
  const { to, entries } = await written(12);
  await to.flush();
  const { file } = to.state();
  const digests = entries.map(digestOf);
  expect(readBack(file, { from: 0, digests }).state).toBe('verified');
  expect(readBack(file, { from: 5, digests })).toEqual({
    state: 'trouble',
    text: 'entry 5 was read back as another one',
  });
  expect(readBack(file, { from: 0, digests: [...digests, 'more'] }).text).toBe(
    '1 of 13 entries are missing in the file',
  );
  expect(readBack(`${file}-none`, { from: 0, digests }).text).toContain('cannot be read back');
});

test('a disk that takes nothing, and entries that were lost, are trouble in words', async () => {
  const full = await written(400, { fileBytes: 60_000, readBackWithin: 300, closeGrace: 0, retryEvery: 50 });
  const found = await full.to.readBack();
  expect(found.state).toBe('trouble');
  expect(found.text).toContain('not on disk after 0.3 s');
  const { to } = await written(400, { bufferBytes: 20_000 });
  const { state, text } = await to.readBack();
  expect(state).toBe('trouble');
  expect(text).toMatch(/\d+ entries lost/);
});

test('a recorder that is closed has nothing to read back', async () => {
  const { to } = await written(3);
  await to.close(groundTime(START));
  expect(await to.readBack()).toEqual({ state: 'trouble', text: 'it is closed' });
});
