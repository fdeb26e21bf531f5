/**
 * Two senders of one flight, by way of two receivers, one losing every fifth frame: the merged stream has every frame
 * that either of them brought.
 */
import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { decodeBody, decodeEnvelope, decodeFrame } from '../../protocol/wire.ts';
import { foldAll } from '../../replay/player.ts';
import { Recording } from '../../replay/recording/recording.ts';
import { Pipeline } from '../../station/pipeline.ts';
import { HOLD } from '../../station/select/select.ts';
import { rehearsalMission } from '../../station/command/running.ts';
import { Running } from '../support/groundchase.ts';
import { waitUntil } from '../support/wait-until.ts';
import { shortScenario } from './short-scenario.ts';

let recordings: string;
const running: Running[] = [];

beforeAll(() => {
  recordings = mkdtempSync(join(tmpdir(), 'two-receivers-'));
});

afterAll(async () => {
  for (const command of running) await command.stop();
  rmSync(recordings, { recursive: true, force: true });
});

const start = (...words: string[]): Running => {
  const command = new Running(words);
  running.push(command);
  return command;
};

it('merges two datagram sources, one with 20 % loss, completely', { timeout: 120_000 }, async () => {
  const live = start(
    'live',
    '--listen',
    'udp://127.0.0.1:0',
    '--mission',
    rehearsalMission,
    '--recordings',
    recordings,
    '--port',
    '0',
  );
  await live.address();
  const input = await waitUntil(
    'the input is told',
    () => /udp:\/\/127\.0\.0\.1:[1-9]\d*/.exec(live.stdout + live.stderr)?.[0],
    30_000,
  );
  const flight = [
    'send',
    shortScenario(recordings, 12),
    '--to',
    input,
    '--start',
    new Date(Date.now() + 15_000).toISOString(),
  ];
  const north = start(...flight, '--receiver', 'North', '--loss', '0.2', '--seed', '11');
  const south = start(...flight, '--receiver', 'South', '--loss', '0.01', '--seed', '11');
  const file = await waitUntil('a recording begins', () =>
    readdirSync(recordings).find((name) => name.endsWith('.flight')),
  );
  await Promise.all([north.ended, south.ended]);
  expect((await live.stop('SIGINT')).code).toBe(0);

  const recording = Recording.open(join(recordings, file));
  /** ground time of the first arrival of each frame, by any receiver */
  const arrival = new Map<number, number>();
  const brought = { North: new Set<number>(), South: new Set<number>() };
  for (const entry of recording.entries()) {
    if (entry.kind !== 'frame') continue;
    const { receiver, frame } = decodeEnvelope(entry.bytes);
    const counter = decodeBody(decodeFrame(frame).body).frameCounter;
    brought[receiver as 'North' | 'South'].add(counter);
    if (!arrival.has(counter)) arrival.set(counter, entry.ground);
  }
  const pipeline = new Pipeline({ gather: 1_000_000 });
  foldAll(recording, pipeline);
  const { stream, receivers } = pipeline.room();
  recording.close();

  const either = new Set([...brought.North, ...brought.South]);
  const span = Math.max(...either) - Math.min(...either) + 1;
  console.log(
    `North brought ${brought.North.size}, South ${brought.South.size}, either ${either.size} of ${span}; merged ${stream.frames}, lost ${stream.lost}, late ${stream.late}`,
  );
  expect(brought.South.size).toBeGreaterThan(300);
  const both = [...brought.North].length / either.size;
  expect(both).toBeGreaterThan(0.6);
  expect(both).toBeLessThan(0.9);
  // only a frame that came after the wait for it had ended is not used: on a busy machine a sender may stall
  let later = Infinity;
  let tooLate = 0;
  for (const counter of [...either].sort((a, b) => b - a)) {
    const at = arrival.get(counter) as number;
    if (at >= later + HOLD) tooLate++;
    later = Math.min(later, at);
  }
  expect(tooLate).toBeLessThan(either.size * 0.02);
  expect(stream.frames).toBe(either.size - tooLate);
  expect(stream.lost).toBe(span - either.size + tooLate);
  expect(receivers.map((r) => r.chosen).reduce((a, b) => a + b)).toBe(stream.frames);
});
