/** The evidence hold: what it writes, what it finds, what it refuses. */
import {
  appendFileSync,
  chmodSync,
  existsSync,
  mkdirSync,
  readFileSync,
  renameSync,
  statSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { execFileSync } from 'node:child_process';
import { basename, dirname, join } from 'node:path';
import { expect, it } from 'vitest';
import type { ActionEntry } from '../../protocol/entry.ts';
import { groundTime } from '../../protocol/time.ts';
import { temporaryFolder } from '../../test/support/temporary-folder.ts';
import { hashListChanges, heldBy, holdFile, holdRecording, readHashList, removeRecording } from './hold.ts';
import { RecordingError } from './open.ts';
import { Recording } from './recording.ts';
import { RecordingWriter } from './writer.ts';

const startUs = 1_795_600_800_000_000;

const action = (request: number, act: 'hold evidence', text: string): ActionEntry => ({
  kind: 'action',
  ground: groundTime(startUs + request),
  person: 'td',
  position: 'test director',
  request,
  action: { act, subject: '', number: 0, choice: '', text, value: 0, aircraft: 0 },
});

/** A recording with a tick a second; `close` = false leaves it as a crash would. */
function recordingOf({ holds = [] as { text: string; accepted: boolean }[], close = true } = {}): string {
  const file = join(temporaryFolder(), 'a.flight');
  const writer = RecordingWriter.create(file, { station: 'A', origin: 'live', started: startUs });
  for (let n = 0; n < 50; n++) writer.append({ kind: 'tick', ground: groundTime(startUs + n * 20_000) });
  holds.forEach(({ text, accepted }, n) => {
    const entry = action(n, 'hold evidence', text);
    writer.append(entry);
    writer.action({ entry: 50 + n, action: entry, accepted, reason: accepted ? '' : 'not allowed' });
  });
  writer.commit();
  if (close) expect(writer.close(startUs + 2_000_000)).toBe('');
  else writer.abandon();
  return file;
}

const by = { person: 'Maud Ellery', position: '', reason: 'hard landing', held: '2026-11-25T11:00:00.000000Z' };

/** Another byte in place of one in the middle, whoever may write. */
function changeByte(file: string): void {
  const bytes = readFileSync(file);
  const at = Math.floor(bytes.length / 2);
  bytes[at] = (bytes[at] as number) ^ 1;
  chmodSync(file, 0o644);
  writeFileSync(file, bytes);
}

it('a recording held in the room gets its hash list when it is closed, with who, when and why', () => {
  const file = recordingOf({ holds: [{ text: 'vibration on landing', accepted: true }] });
  const list = readHashList(file);
  expect(list).toMatchObject({ person: 'td', position: 'test director', reason: 'vibration on landing', blocks: 1 });
  expect(list?.held).toBe('2026-11-25T10:00:00.000000Z');
  const recording = Recording.open(file);
  expect(list?.chain).toBe(recording.about['final_chain']);
  expect(recording.verify().intact).toBe(true);
  recording.close();
  expect(list && hashListChanges(file, list)).toEqual([]);
  for (const path of [file, holdFile(file)]) expect(statSync(path).mode & 0o222).toBe(0);
});

it('a hold that was refused in the room holds nothing', () => {
  const file = recordingOf({ holds: [{ text: 'x', accepted: false }] });
  expect(heldBy(file)).toBeUndefined();
  expect(existsSync(holdFile(file))).toBe(false);
});

it('the list is checked by sha256sum too, whatever the reason says', () => {
  const file = recordingOf();
  const reason = `a\n${'0'.repeat(64)}  other.flight\n# person: "somebody else"\u2028\u00e9`;
  const list = holdRecording(file, { ...by, reason });
  expect(readHashList(file)).toEqual(list);
  expect(list).toMatchObject({ reason, person: 'Maud Ellery', files: [{ name: basename(file) }] });
  const checked = execFileSync('sha256sum', ['-c', basename(holdFile(file))], { cwd: dirname(file), encoding: 'utf8' });
  expect(checked).toContain(`${basename(file)}: OK`);
});

it('any changed byte is found, in the recording and in the list', () => {
  const file = recordingOf();
  const list = holdRecording(file, by);
  changeByte(file);
  expect(hashListChanges(file, list)).toEqual([expect.stringContaining('not those that were held')]);
  changeByte(holdFile(file));
  expect(() => readHashList(file)).toThrow(/not as it was written/);
});

it('is held once', () => {
  const file = recordingOf();
  holdRecording(file, by);
  expect(() => holdRecording(file, by)).toThrow(/held already/);
  expect(() => holdRecording(`${file}x`, by)).toThrow(/no such file/);
});

it('a recording that a crash cut off is held with its journal, and is not gone on with', () => {
  const file = recordingOf({ close: false });
  const list = holdRecording(file, by);
  expect(list.blocks).toBe(1);
  expect(hashListChanges(file, list)).toEqual([]);
  expect(() => RecordingWriter.resume(file)).toThrow(/held as evidence|read-only/);
});

it('one that cannot be read is held all the same; what is no recording at all is not', () => {
  const damaged = join(temporaryFolder(), 'b.flight');
  writeFileSync(damaged, 'torn');
  expect(holdRecording(damaged, by)).toMatchObject({ chain: '', blocks: 0 });
  const other = join(temporaryFolder(), 'notes.txt');
  writeFileSync(other, 'torn');
  expect(() => holdRecording(other, by)).toThrow(/not a recording/);
});

it('one that is being written is neither held by hand nor removed', () => {
  const file = join(temporaryFolder(), 'a.flight');
  const writer = RecordingWriter.create(file, { station: 'A', origin: 'live', started: startUs });
  writer.append({ kind: 'tick', ground: groundTime(startUs) });
  writer.commit();
  expect(() => holdRecording(file, by)).toThrow(/another station is recording/);
  expect(() => removeRecording(file)).toThrow(/another station is recording/);
  writer.close(startUs);
  expect(removeRecording(file)).toBeGreaterThan(0);
});

it('what is not held is removed, and says how many bytes that were', () => {
  const file = recordingOf();
  const { size } = statSync(file);
  expect(removeRecording(file)).toBe(size);
  expect(existsSync(file)).toBe(false);
  expect(() => removeRecording(file)).toThrow(/no such file/);
});

it('nothing that is held, or of which that cannot be told, is removed', () => {
  const byHand = recordingOf();
  holdRecording(byHand, by);
  expect(() => removeRecording(byHand)).toThrow(/held as evidence since 2026-11-25.*Maud Ellery: hard landing/);
  appendFileSync(byHand.replace('a.flight', 'c.flight'), 'torn');
  expect(() => removeRecording(byHand.replace('a.flight', 'c.flight'))).toThrow(/not a recording/);
  // the list alone being gone lets go of nothing
  const inRoom = recordingOf({ holds: [{ text: 'vibration', accepted: true }], close: false });
  expect(existsSync(holdFile(inRoom))).toBe(false);
  expect(() => removeRecording(inRoom)).toThrow(/held as evidence/);
  for (const file of [byHand, inRoom]) expect(existsSync(file)).toBe(true);
});

it('one that is named by a link is held where it lies', () => {
  const file = recordingOf();
  const link = join(temporaryFolder(), 'latest.flight');
  symlinkSync(file, link);
  holdRecording(link, by);
  expect(readHashList(file)).toMatchObject({ files: [{ name: basename(file) }] });
  expect(existsSync(holdFile(link))).toBe(false);
  expect(hashListChanges(link, readHashList(link) as NonNullable<ReturnType<typeof readHashList>>)).toEqual([]);
  for (const name of [file, link]) expect(() => removeRecording(name)).toThrow(/held as evidence/);
});

it('another name in its folder, or its list under another name, does not let go of it', () => {
  const file = recordingOf();
  const list = holdRecording(file, by);
  const other = join(dirname(file), 'b.flight');
  renameSync(file, other);
  expect(() => removeRecording(other)).toThrow(/held as evidence since 2026-11-25.*Maud Ellery.*a\.flight\.held/);
  expect(existsSync(other)).toBe(true);
  // with its list beside it again, its bytes are those that were held, and the other name is told
  renameSync(holdFile(file), holdFile(other));
  expect(hashListChanges(other, list)).toEqual([expect.stringContaining('was held as a.flight')]);
});

it('a list that lost its recording and cannot be read lets nothing of its folder be removed', () => {
  const held = recordingOf();
  holdRecording(held, by);
  const free = join(dirname(held), 'free.flight');
  const bytes = readFileSync(recordingOf({ holds: [{ text: 'x', accepted: false }] }));
  writeFileSync(free, bytes);
  changeByte(holdFile(held));
  // it is the list of another recording, which is there
  expect(removeRecording(free)).toBe(bytes.length);
  writeFileSync(free, bytes);
  renameSync(held, join(dirname(held), 'b.flight'));
  expect(() => removeRecording(free)).toThrow(/not as it was written/);
});

it('tells where no list can be written, and the recording is not held then', () => {
  const file = recordingOf();
  mkdirSync(`${holdFile(file)}-new`);
  expect(() => holdRecording(file, by)).toThrow(RecordingError);
  expect(() => holdRecording(file, by)).toThrow(/hash list cannot be written/);
  expect(heldBy(file)).toBeUndefined();
});

it('a journal that came later is a change: it alters what is read without a byte of the recording', () => {
  const file = recordingOf();
  const list = holdRecording(file, by);
  writeFileSync(`${file}-wal`, 'a page of somebody else');
  expect(hashListChanges(file, list)).toEqual([expect.stringContaining('was not there')]);
  expect(hashListChanges(file, { ...list, files: [] })).not.toEqual([]);
});

it('a hold that was cut off in the middle is taken up again, and leaves nothing that can be written', () => {
  const file = recordingOf();
  chmodSync(file, 0o644);
  // as a crash leaves it: the new list not yet in its place
  writeFileSync(`${holdFile(file)}-new`, 'half');
  holdRecording(file, by);
  expect(existsSync(`${holdFile(file)}-new`)).toBe(false);
  // and with the list in place, but the recording not yet read-only
  chmodSync(file, 0o644);
  expect(() => holdRecording(file, by)).toThrow(/held already/);
  expect(statSync(file).mode & 0o222).toBe(0);
});
