import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { copyFileSync, existsSync, mkdtempSync, rmSync, statSync, truncateSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { groundTime } from '../../protocol/time.ts';
import { Recording } from '../../replay/recording/recording.ts';
import { RecordingWriter } from '../../replay/recording/writer.ts';
import { crashEntry } from './crash-entry.ts';

let dir: string;
beforeAll(() => {
  dir = mkdtempSync(join(tmpdir(), 'crash-'));
});
afterAll(() => rmSync(dir, { recursive: true, force: true }));

/** Runs the writer until it has told of `commits` commits, waits a little more, and kills it. */
async function runAndKill(commits: number, more: number): Promise<{ acknowledged: number; killed: number }> {
  const script = fileURLToPath(new URL('./crash-writer.ts', import.meta.url));
  const child: ChildProcess = spawn(process.execPath, ['--import', 'tsx', script, dir], {
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  let acknowledged = 0;
  let seen = 0;
  let killed = 0;
  child.stdout?.on('data', (text: Buffer) => {
    for (const match of text.toString().matchAll(/committed (\d+)\n/g)) {
      acknowledged = Number(match[1]);
      seen++;
    }
    if (seen < commits || killed > 0) return;
    killed = Number.POSITIVE_INFINITY;
    setTimeout(() => {
      killed = Date.now() * 1000;
      child.kill('SIGKILL');
    }, more);
  });
  const [, signal] = await once(child, 'exit');
  expect(signal).toBe('SIGKILL');
  return { acknowledged, killed };
}

test('killed at any moment, again and again: it opens, verifies, and all that was acknowledged is there', async () => {
  const lost: number[] = [];
  let before = 0;
  // moments between two commits, which come every 200 ms; the first that is told is the opening
  for (const [commits, more] of [
    [3, 0],
    [2, 61],
    [3, 120],
    [2, 177],
    [2, 199],
    [2, 33],
  ] as const) {
    const { acknowledged, killed } = await runAndKill(commits, more);
    const [file] = Recording.unfinished(dir);
    const recording = Recording.open(file as string);
    expect(recording.verify()).toMatchObject({ intact: true, closed: false });
    expect(recording.length).toBeGreaterThanOrEqual(acknowledged);
    expect(recording.length).toBeGreaterThan(before);
    before = recording.length;
    let i = 0;
    for (const entry of recording.entries()) {
      const expected = crashEntry(i++, entry.ground);
      expect(entry.kind).toBe(expected.kind);
      if (entry.kind === 'frame' && expected.kind === 'frame') {
        expect(Buffer.compare(entry.bytes, expected.bytes)).toBe(0);
      }
    }
    expect(i).toBe(recording.length);
    expect(recording.snapshotBefore({ entry: i })?.state).toMatchObject({ column: expect.any(Float64Array) });
    lost.push((killed - recording.span.to) / 1e6);
    recording.close();
  }
  // seconds; the middle one, since a busy machine can stop the child itself for a while
  expect(lost.sort((a, b) => a - b)[3]).toBeLessThan(0.5);
}, 60_000);

test('torn anywhere, a journal costs at most what came after the tear', () => {
  const whole = join(dir, 'torn.flight');
  const writer = RecordingWriter.create(whole, { station: 'A', origin: 'live', started: 1e15 });
  for (let i = 0; i < 400; i++) {
    writer.append(crashEntry(i, 1e15 + i));
    if (i % 20 === 19) writer.commit();
  }
  const copy = join(dir, 'copy.flight');
  const size = statSync(`${whole}-wal`).size;
  expect(size).toBeGreaterThan(10_000);
  let last = -1;
  for (let cut = 0; cut <= 20; cut++) {
    copyFileSync(whole, copy);
    copyFileSync(`${whole}-wal`, `${copy}-wal`);
    truncateSync(`${copy}-wal`, Math.floor((size * cut) / 20));
    let length = 0;
    try {
      const recording = Recording.open(copy);
      const verification = recording.verify();
      expect(verification.changes).toEqual([]);
      length = recording.length;
      expect(length % 20).toBe(0);
      recording.close();
    } catch (error) {
      // before the first commit reached the file there is nothing to open, and it says so
      expect((error as Error).message).toMatch(/copy\.flight/);
    }
    expect(length).toBeGreaterThanOrEqual(last);
    last = length;
    for (const ending of ['', '-wal', '-shm']) rmSync(copy + ending, { force: true });
  }
  expect(last).toBe(400);
  writer.close(groundTime(1e15 + 400));
  expect(existsSync(`${whole}-wal`)).toBe(false);
});
