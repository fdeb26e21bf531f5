import { chmodSync, existsSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { groundTime } from '../../protocol/time.ts';
import { RecordingWriter } from '../../replay/recording/writer.ts';
import { groundchase } from '../../test/support/groundchase.ts';
import { temporaryFolder } from '../../test/support/temporary-folder.ts';
import { mission } from '../../test/support/tiny-mission.ts';

const startUs = 1_795_600_800_000_000;

function recordingFile(): string {
  const file = join(temporaryFolder(), 'a.flight');
  const writer = RecordingWriter.create(file, { station: 'A', origin: 'live', started: startUs });
  writer.append({ kind: 'configuration', ground: groundTime(startUs), mission: mission(), files: [] });
  writer.close(startUs);
  return file;
}

it('a recording is held, told of, kept from removal, and a changed byte is found', { timeout: 60_000 }, async () => {
  const file = recordingFile();
  const held = await groundchase('hold', file, '--reason', 'hard landing', '--person', 'Maud Ellery');
  expect(held).toMatchObject({ code: 0, stderr: '' });
  expect(held.stdout).toContain(`held: ${file}.held`);

  const told = await groundchase('info', file);
  expect(told.code).toBe(0);
  expect(told.stdout).toMatch(
    /held as evidence: since \S+ by Maud Ellery: hard landing\nhash list: every byte is as it was/,
  );

  const kept = await groundchase('remove', file);
  expect(kept.code).toBe(1);
  expect(kept.stderr).toMatch(/not removed: it is held as evidence/);
  expect(existsSync(file)).toBe(true);

  // reserved in SQLite's header: only a hash over the whole file sees it
  const bytes = readFileSync(file);
  bytes[80] = 1;
  chmodSync(file, 0o644);
  writeFileSync(file, bytes);
  const changed = await groundchase('info', file, '--json');
  expect(changed).toMatchObject({ code: 1, stderr: '' });
  expect(JSON.parse(changed.stdout)).toMatchObject({
    held: { person: 'Maud Ellery', list: true, changes: [expect.stringContaining('not those that were held')] },
  });
});

it('what is not held is removed; a hold without a reason is wrong use', { timeout: 60_000 }, async () => {
  const file = recordingFile();
  expect((await groundchase('hold', file, '--person', 'Maud Ellery')).code).toBe(2);
  expect((await groundchase('hold', file, '--person', 'Maud Ellery', '--reason', ' ')).code).toBe(2);
  const { size } = statSync(file);
  const removed = await groundchase('remove', file, '--json');
  expect(JSON.parse(removed.stdout)).toEqual({ file, bytes: size });
  expect(existsSync(file)).toBe(false);
  expect((await groundchase('remove', file)).code).toBe(1);
});
