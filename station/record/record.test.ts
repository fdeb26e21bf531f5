import { mkdtempSync, readdirSync, renameSync, rmSync, unlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import type { AlarmEvent } from '../../protocol/alarm.ts';
import type { ActionEntry, Entry } from '../../protocol/entry.ts';
import type { Fold, Outputs } from '../../protocol/fold.ts';
import type { Mission } from '../../protocol/mission.ts';
import { aircraftTime, groundTime, SECOND } from '../../protocol/time.ts';
import { Recording } from '../../replay/recording/recording.ts';
import { RecordingWriter } from '../../replay/recording/writer.ts';
import { waitUntil } from '../../test/support/wait-until.ts';
import { openRecorder, type Recorder, type RecorderOptions } from './record.ts';
import { recoverRecording } from './recover.ts';

let dir: string;
const open: Recorder[] = [];
beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), 'recorder-'));
});
afterEach(async () => {
  for (const recorder of open.splice(0)) await recorder.close(groundTime(START));
  rmSync(dir, { recursive: true, force: true });
});

const START = 1_795_600_000_000_000;
const recorder = (more: Partial<RecorderOptions> = {}): Recorder => {
  const started = groundTime(START);
  const opened = openRecorder({ dir, name: 'SM1X', station: 'A', origin: 'live', started, commitEvery: 20, ...more });
  open.push(opened);
  return opened;
};
const mission = { baselineId: 'b1' } as Mission;
const configuration: Entry = { kind: 'configuration', ground: groundTime(START), mission, files: [] };
const frame = (i: number, length = 100): Entry => ({
  kind: 'frame',
  ground: groundTime(START + i * 20_000),
  input: 'in',
  bytes: Uint8Array.from({ length }, (_, k) => (i * 37 + k * k) & 255),
});
const mark = (i: number, request: number): ActionEntry => ({
  kind: 'action',
  ground: groundTime(START + i * 20_000),
  person: 'p1',
  position: 'engine',
  request,
  action: { act: 'mark', text: `mark ${request}`, aircraft: 0 },
});

/** Sums frame bytes; every frame whose sum is a multiple of 10 puts out a line. Refuses odd requests. */
class SumFold implements Fold {
  sum = 0;
  frames = 0;
  step(entry: Entry): Outputs {
    const outputs = this.flush();
    if (entry.kind === 'action') {
      const accepted = entry.request % 2 === 0;
      outputs.results.push({ person: entry.person, request: entry.request, accepted, reason: accepted ? '' : 'odd' });
    }
    if (entry.kind !== 'frame') return outputs;
    this.frames++;
    for (const byte of entry.bytes) this.sum += byte;
    if (this.sum % 10 === 0) outputs.alarms.push(line(this.sum, entry.ground));
    return outputs;
  }
  flush(): Outputs {
    const frames = {
      length: 0,
      aircraft: new Float64Array(0),
      ground: new Float64Array(0),
      taken: new Float64Array(0),
    };
    return { batches: [], frames, alarms: [], roomChanged: false, results: [], discontinuity: -1 };
  }
  save(): unknown {
    return { sum: this.sum, frames: this.frames };
  }
  restore(state: unknown): void {
    Object.assign(this, state);
  }
}
const line = (value: number, ground: number): AlarmEvent => ({
  event: 'raised',
  alarm: 'sum',
  family: 'aircraft',
  level: 'caution',
  aircraft: aircraftTime(ground),
  ground: groundTime(ground),
  value,
  limitValue: 0,
  detail: '',
  position: '',
  person: '',
});

/** What the station does with one entry. */
function feed(to: Recorder, fold: SumFold, entry: Entry): AlarmEvent[] {
  to.append(entry);
  const outputs = fold.step(entry);
  to.outputs(outputs);
  return outputs.alarms;
}

test('keeps entries, lines, results and snapshots, and seals the file', async () => {
  const r = recorder();
  await r.ready;
  const fold = new SumFold();
  const lines: AlarmEvent[] = [];
  feed(r, fold, configuration);
  for (let i = 0; i < 300; i++) {
    lines.push(...feed(r, fold, frame(i)));
    if (i % 100 === 50) r.snapshot(fold.save());
  }
  feed(r, fold, mark(300, 1));
  feed(r, fold, mark(300, 2));
  await r.flush();
  expect(r.state()).toMatchObject({ state: 'recording', entries: 303, committed: 303, lost: 0, trouble: '' });
  await r.close(groundTime(START + 7_000_000));
  expect(r.state()).toMatchObject({ state: 'closed', trouble: '' });
  expect(r.state().file).toBe(join(dir, '2026-11-25-SM1X-1.flight'));
  const recording = Recording.open(r.state().file);
  expect(recording.verify()).toMatchObject({ intact: true, closed: true, notes: [] });
  expect(recording.alarms()).toEqual(lines);
  expect(lines.length).toBeGreaterThan(5);
  expect(recording.actions().map((a) => [a.entry, a.accepted, a.reason])).toEqual([
    [301, false, 'odd'],
    [302, true, ''],
  ]);
  expect(recording.marks().map((row) => row.text)).toEqual(['mark 2']);
  const read = [...recording.entries()];
  expect(read.length).toBe(303);
  expect(Buffer.from((read[217] as { bytes: Uint8Array }).bytes)).toEqual(
    Buffer.from((frame(216) as { bytes: Uint8Array }).bytes),
  );
  expect(recording.snapshotBefore({ entry: 200 })?.entry).toBe(152);
  recording.close();
});

test('a second recording of the day gets the next number', async () => {
  writeFileSync(join(dir, '2026-11-25-SM1X-1.flight'), '');
  const r = recorder();
  expect(r.state().file).toMatch(/2026-11-25-SM1X-2\.flight$/);
  await r.ready;
});

test('a folder that cannot be written is told at once', async () => {
  const blocked = join(dir, 'file');
  writeFileSync(blocked, '');
  expect(() => recorder({ dir: blocked })).toThrow();
});

test('a full disk is trouble, what does not fit the buffer is counted, and the recording says where it is missing', async () => {
  const r = recorder({ fileBytes: 150_000, bufferBytes: 200_000, retryEvery: 20 });
  await r.ready;
  const random = (i: number): Entry => ({ ...frame(i), bytes: noise(5000, i) }) as Entry;
  let i = 0;
  // entries until the worker tells of its trouble, then until twenty more no longer fit
  let before = Number.NaN;
  await waitUntil('twenty entries are lost', () => {
    r.append(random(i++));
    const { state, lost } = r.state();
    if (state !== 'trouble') return false;
    if (Number.isNaN(before)) before = lost;
    for (; r.state().lost < before + 20; i++) r.append(random(i));
    return true;
  });
  const given = i;
  expect(r.state()).toMatchObject({ state: 'trouble' });
  expect(r.state().trouble).toMatch(/full.*entries lost/);
  const kept = r.state().entries;
  expect(kept + r.state().lost).toBe(given);
  r.limit(100_000_000);
  await r.flush();
  expect(r.state().state).toBe('recording');
  r.append(random(i++));
  await r.close(groundTime(START + i * 20_000));
  const recording = Recording.open(r.state().file);
  expect(recording.length).toBe(kept + 1);
  const losses = recording.losses();
  expect(losses.reduce((sum, loss) => sum + loss.entries, 0)).toBe(r.state().lost);
  expect(losses.at(-1)?.reason).toMatch(/full/);
  expect(losses.at(-1)?.entry).toBe(kept);
  expect(recording.verify().intact).toBe(true);
  recording.close();
});

test('a file that is taken away, or whose journal is, is trouble at the next commit, until it is back', async () => {
  for (const ending of ['', '-wal']) {
    const r = recorder({ commitEvery: 20 });
    await r.ready;
    const { file } = r.state();
    let i = 0;
    const commit = async (): Promise<void> => {
      r.append(frame(i++));
      await r.flush();
    };
    await commit();
    expect(r.state()).toMatchObject({ state: 'recording', trouble: '' });
    renameSync(`${file}${ending}`, `${file}.away`);
    await commit();
    expect(r.state()).toMatchObject({ state: 'trouble' });
    expect(r.state().trouble).toMatch(ending === '' ? /^the file of the recording is gone/ : /^the journal .* is gone/);
    expect((await r.readBack()).state).toBe('trouble');
    renameSync(`${file}.away`, `${file}${ending}`);
    await commit();
    expect(r.state()).toMatchObject({ state: 'recording', trouble: '', lost: 0 });
    expect((await r.readBack()).state).toBe('verified');
    await r.close(groundTime(START + SECOND));
    expect(r.state().trouble).toBe('');
  }
});

test('a recording whose file is gone when it is closed says so', async () => {
  const r = recorder({ closeGrace: 50, retryEvery: 20 });
  await r.ready;
  r.append(frame(0));
  await r.flush();
  unlinkSync(r.state().file);
  await r.close(groundTime(START + SECOND));
  expect(r.state()).toMatchObject({ state: 'closed' });
  expect(r.state().trouble).toMatch(/^could not be closed: /);
});

test('a recording that cannot be closed for a full disk stays open and readable, and says so', async () => {
  const r = recorder({ fileBytes: 150_000, retryEvery: 20, closeGrace: 60 });
  await r.ready;
  for (let i = 0; i < 100; i++) r.append({ ...frame(i), bytes: noise(5000, i) } as Entry);
  await r.close(groundTime(START));
  expect(r.state().state).toBe('closed');
  expect(r.state().trouble).toMatch(/could not be closed: .*full.*; \d+ entries lost/);
  const recording = Recording.open(r.state().file);
  expect(recording.closed).toBe(false);
  expect(recording.length).toBe(100 - r.state().lost);
  recording.close();
});

test('after a crash the fold is restored, missing lines are added, and the same file goes on', async () => {
  const live = new SumFold();
  const file = join(dir, '2026-11-25-SM1X-1.flight');
  const writer = RecordingWriter.create(file, { station: 'A', origin: 'live', started: START });
  const all: AlarmEvent[] = [];
  const step = (entry: Entry, keepLines = true): void => {
    writer.append(entry);
    const outputs = live.step(entry);
    all.push(...outputs.alarms);
    if (keepLines) for (const event of outputs.alarms) writer.alarm(event);
  };
  step(configuration);
  for (let i = 0; i < 100; i++) step(frame(i));
  writer.snapshot(live.save());
  writer.commit();
  for (let i = 100; i < 150; i++) step(frame(i));
  writer.commit();
  // the crash comes between an entry and its lines
  for (let i = 150; i < 250; i++) step(frame(i), false);
  const late = mark(250, 4);
  step(late);
  writer.commit();
  writer.abandon();

  const recovered = recoverRecording(dir, () => new SumFold());
  expect(recovered).toMatchObject({ file, entries: 252, began: 101, ground: late.ground });
  expect(recovered?.fold.save()).toEqual(live.save());
  const r = recorder({ ...(recovered ? { resume: recovered } : {}) });
  await r.ready;
  const fold = recovered?.fold as SumFold;
  for (let i = 251; i < 300; i++) {
    all.push(...live.step(frame(i)).alarms);
    feed(r, fold, frame(i));
  }
  await r.close(groundTime(START + 300 * 20_000));
  const recording = Recording.open(file);
  expect(recording.verify()).toMatchObject({ intact: true, closed: true });
  expect(recording.length).toBe(301);
  expect(recording.alarms()).toEqual(all);
  expect(recording.actions()).toMatchObject([{ entry: 251, accepted: true }]);
  expect(recording.marks()).toMatchObject([{ text: 'mark 4' }]);
  recording.close();
  expect(recoverRecording(dir, () => new SumFold())).toBeUndefined();
  expect(recoverRecording(join(dir, 'none'), () => new SumFold())).toBeUndefined();
});

/** Bytes that do not compress. */
function noise(length: number, seed: number): Uint8Array {
  let x = (seed + 1) * 2_654_435_761;
  return Uint8Array.from({ length }, () => {
    x = Math.imul(x ^ (x >>> 15), 2_246_822_519) + 0x9e3779b9;
    return x >>> 24;
  });
}

test('a folder that cannot be made is refused at once, also where the system says that its parent is not there', () => {
  writeFileSync(join(dir, 'file'), '');
  const at = (folder: string) => () => recorder({ dir: folder });
  expect(at(join(dir, 'file', 'below'))).toThrow(/ENOTDIR|EEXIST/);
  if (process.platform === 'linux') expect(at('/proc/groundchase/recordings')).toThrow(/ENOENT|EACCES|EPERM/);
});

test('folders above that are missing are made', async () => {
  const below = join(dir, 'a', 'b');
  await recorder({ dir: below }).ready;
  expect(readdirSync(below)).toContain('2026-11-25-SM1X-1.flight');
});

test('recorders opened in one moment keep different files, though none of them is made yet', async () => {
  const three = [recorder(), recorder(), recorder()];
  three.forEach((one, n) => {
    one.append(configuration);
    one.append(frame(n));
  });
  await Promise.all(three.map((one) => one.close(groundTime(START))));
  const files = three.map((one) => one.state().file);
  expect(new Set(files).size).toBe(3);
  for (const [n, file] of files.entries()) {
    const recording = Recording.open(file);
    expect([...recording.entries()].slice(1)).toEqual([frame(n)]);
    recording.close();
  }
});
