import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { groundTime } from '../../protocol/time.ts';
import { Recording } from '../../replay/recording/recording.ts';
import { RecordingWriter } from '../../replay/recording/writer.ts';
import { groundchase } from '../../test/support/groundchase.ts';
import { temporaryFolder } from '../../test/support/temporary-folder.ts';
import { TestDisplay } from '../../test/support/test-display.ts';
import { frameBytes, frameEntry, group, levelLimit, mission, parameter } from '../../test/support/tiny-mission.ts';
import { waitUntil } from '../../test/support/wait-until.ts';
import { Pipeline } from '../pipeline.ts';
import { ReplayRoom } from './replay.ts';

const START = 1_795_600_000_000_000;
const FRAMES = 1000;
const tiny = mission({
  groups: [group('main', 50)],
  parameters: [parameter('A', 'main')],
  limits: [levelLimit('a-high', 'A', { above: { warning: 300 } })],
});

/** Twenty seconds of flight; A counts frames, and is over its limit from frame 301 on. */
function recorded(): string {
  const file = join(temporaryFolder(), 'a.flight');
  const writer = RecordingWriter.create(file, { station: 'A', origin: 'live', started: START });
  const fold = new Pipeline({ gather: 0 });
  const take = (entry: Parameters<Pipeline['step']>[0]) => {
    writer.append(entry);
    for (const event of fold.step(entry).alarms) writer.alarm(event);
  };
  take({ kind: 'configuration', ground: groundTime(START), mission: tiny, files: [] });
  for (let n = 0; n < FRAMES; n++) {
    const frame = frameBytes(tiny, n, START + n * 20_000, [{ group: 'main', rows: [{ A: n }] }]);
    take(frameEntry(START + n * 20_000 + 1000, frame));
    if (n % 250 === 249) writer.snapshot(fold.save());
  }
  writer.close(START + FRAMES * 20_000);
  return file;
}

let file: string;
const opened: (() => unknown)[] = [];
beforeEach(() => {
  file = recorded();
});
afterEach(async () => {
  for (const close of opened.splice(0).reverse()) await close();
});

describe('replay --alarms', () => {
  it('finds no difference in a recording as it was made', async () => {
    const { code, stdout } = await groundchase('replay', file, '--alarms', '--json');
    expect(code).toBe(0);
    const report = JSON.parse(stdout) as { live: number; replayed: number; differences: unknown[]; entries: number };
    expect(report.live).toBeGreaterThan(0);
    expect(report).toMatchObject({ replayed: report.live, differences: [], entries: FRAMES + 1 });
  });

  it('names every line that differs, and exits with 1', async () => {
    const writer = join(temporaryFolder(), 'b.flight');
    const recording = Recording.open(file);
    const copy = RecordingWriter.create(writer, { station: 'A', origin: 'live', started: START });
    for (const entry of recording.entries()) copy.append(entry);
    for (const event of recording.alarms()) copy.alarm({ ...event, value: event.value + 1 });
    copy.close(START);
    recording.close();
    const { code, stdout } = await groundchase('replay', writer, '--alarms');
    expect(code).toBe(1);
    expect(stdout).toMatch(
      /line \d+: live .* a-high raised warning 302; replayed .* a-high raised warning 301 \(value\)/,
    );
  });

  it('says what is wrong with a file that is no recording', async () => {
    const { code, stderr } = await groundchase('replay', 'package.json', '--alarms');
    expect(code).toBe(1);
    expect(stderr).toContain('not a recording');
    expect(stderr).not.toContain(' at ');
  });
});

describe('a replay on the display', () => {
  async function open(): Promise<{ room: ReplayRoom; display: TestDisplay }> {
    const recording = Recording.open(file);
    opened.push(() => recording.close());
    const room = await ReplayRoom.open(recording, 0);
    opened.push(() => room.close());
    const display = await TestDisplay.open(room.displays.links[0]!.address);
    opened.push(() => display.socket.terminate());
    display.say({ subscribe: { columns: [0], rateHz: 30, historyS: 60 } });
    return { room, display };
  }
  const value = (display: TestDisplay) => display.updates().at(-1)?.latest?.[0]?.value;

  it('signs in the people of the flight, who may do nothing', async () => {
    const { room, display } = await open();
    expect(room.displays.links.map(({ person }) => person)).toEqual(tiny.people.map(({ id }) => id));
    expect(display.heard[0]!.welcome).toMatchObject({ mode: 'replay', may: [] });
    display.act(1, { act: 'mark', text: 'x', aircraft: 0 });
    await waitUntil('it is answered', () => display.result(1));
    expect(display.result(1)).toMatchObject({ accepted: false, reason: expect.stringContaining('replay') });
  });

  it('plays, pauses and keeps to its speed', async () => {
    const { display } = await open();
    display.say({ playback: { speed: 10 } });
    display.say({ playback: { playing: true } });
    await waitUntil('it plays', () => (value(display) ?? 0) > 100);
    display.say({ playback: { playing: false } });
    await waitUntil('it has paused', () => display.room()?.playback?.playing === false);
    expect(display.room()!.playback).toMatchObject({ speed: 10 });
    expect(display.room()!.playback!.lengthS).toBeCloseTo(19.981, 3);
  });

  it('goes to a place, forward and back, with the history before it and none after it', async () => {
    const { display } = await open();
    for (const seekS of [15, 4, 19]) {
      display.say({ playback: { seekS } });
      const expected = Math.floor((seekS * 1_000_000 - 1000) / 20_000);
      await waitUntil(`the value of ${seekS} s is shown`, () => value(display) === expected);
      const epoch = display.updates().at(-1)!.epoch;
      const highs = display
        .updates()
        .filter((update) => update.epoch === epoch)
        .flatMap((update) => update.traces ?? [])
        .flatMap((trace) => [...new Float32Array(new Uint8Array(trace.high!).buffer)])
        .filter((high) => !Number.isNaN(high));
      expect(Math.max(...highs)).toBe(expected);
      expect(highs.length).toBeGreaterThan(Math.min(60, seekS) * 20);
      const held = (display.room()?.alarms ?? []).some(({ id }) => id === 'a-high');
      expect(held).toBe(seekS > 7);
    }
  });

  it('plays to its end as fast as it goes', async () => {
    const { display } = await open();
    display.say({ playback: { speed: 0 } });
    display.say({ playback: { playing: true } });
    await waitUntil('the last value is shown', () => value(display) === FRAMES - 1);
    await waitUntil('it stands at the end', () => display.room()?.playback?.playing === false);
  });
});
