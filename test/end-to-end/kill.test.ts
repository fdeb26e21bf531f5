/**
 * The station is killed in flight (SIGKILL) while the aircraft flies on. Started again, it finds the unfinished
 * recording, has its state again, and goes on in the same file; the file verifies, and its replay tells the alarm list
 * that the two stations told.
 */
import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { Recording } from '../../replay/recording/recording.ts';
import { rehearsalMission } from '../../station/command/running.ts';
import { freeUdpPort } from '../support/free-port.ts';
import { groundchase, Running } from '../support/groundchase.ts';
import { waitUntil } from '../support/wait-until.ts';
import { shortScenario } from './short-scenario.ts';

let folder: string;
const running: Running[] = [];

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'kill-'));
});

afterAll(async () => {
  for (const command of running) await command.stop('SIGKILL');
  rmSync(folder, { recursive: true, force: true });
});

const start = (...words: string[]): Running => {
  const command = new Running(words);
  running.push(command);
  return command;
};

const recordings = () => readdirSync(folder).filter((name) => name.endsWith('.flight'));

function read(file: string) {
  const recording = Recording.open(join(folder, file));
  try {
    const frames = [...recording.entries()].filter((entry) => entry.kind === 'frame');
    return { entries: recording.length, grounds: frames.map((frame) => frame.ground as number) };
  } finally {
    recording.close();
  }
}

it('goes on recording the flight after kill -9, in the same verified file', { timeout: 240_000 }, async () => {
  const input = `udp://127.0.0.1:${await freeUdpPort()}`;
  const live = ['live', '--listen', input, '--mission', rehearsalMission, '--recordings', folder, '--port', '0'];
  const first = start(...live);
  await first.address();
  const aircraft = start('send', shortScenario(folder, 60), '--to', input);
  const enough = (frames: number) => () =>
    recordings()[0] !== undefined && read(recordings()[0] as string).grounds.length >= frames;
  await waitUntil('frames are recorded', enough(150), 60_000);
  const killedAt = Date.now() * 1000;
  await first.stop('SIGKILL');

  const [file] = recordings() as [string];
  expect(recordings()).toEqual([file]);
  const left = read(file);
  const lost = (killedAt - (left.grounds.at(-1) as number)) / 1000;
  const between = await groundchase('info', join(folder, file), '--verify', '--json');
  expect(between.code).toBe(0);

  const restartedAt = performance.now();
  const second = start(...live);
  await second.address();
  console.log(`started again in ${((performance.now() - restartedAt) / 1000).toFixed(1)} s`);
  await waitUntil('the flight goes on in the file', enough(left.grounds.length + 200), 60_000);
  expect(second.stderr).toContain('was not closed: the flight goes on in it');
  expect(recordings()).toEqual([file]);
  await aircraft.stop();
  expect((await second.stop('SIGINT')).code).toBe(0);

  const info = await groundchase('info', join(folder, file), '--verify', '--json');
  expect(info.code).toBe(0);
  const told = JSON.parse(info.stdout) as { state: string; verification: { intact: boolean; blocks: number } };
  expect(told.state).toBe('closed');
  expect(told.verification.intact).toBe(true);
  const whole = read(file);
  expect(whole.grounds.slice(0, left.grounds.length)).toEqual(left.grounds);
  const replay = await groundchase('replay', join(folder, file), '--alarms', '--json');
  expect(JSON.parse(replay.stdout)).toMatchObject({ differences: [] });
  console.log(
    `the kill cost the last ${lost.toFixed(0)} ms; ${left.entries} entries before it, ${whole.entries} in the end, ${told.verification.blocks} blocks intact`,
  );
});
