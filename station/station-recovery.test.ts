import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { groundTime } from '../protocol/time.ts';
import { RecordingWriter } from '../replay/recording/writer.ts';
import { temporaryFolder } from '../test/support/temporary-folder.ts';
import { TestDisplay } from '../test/support/test-display.ts';
import { frameBytes, frameEntry, levelLimit, mission } from '../test/support/tiny-mission.ts';
import { waitUntil } from '../test/support/wait-until.ts';
import { Pipeline } from './pipeline.ts';
import { Station, type StationOptions } from './station.ts';

const tiny = mission({ limits: [levelLimit('a-high', 'A', { above: { warning: 100 } })] });

let recordings: string;
const opened: (() => unknown)[] = [];
beforeEach(() => {
  recordings = temporaryFolder();
});
afterEach(async () => {
  for (const close of opened.splice(0).reverse()) await close();
});

async function start(more: Partial<StationOptions> = {}) {
  const common = { mode: 'live' as const, mission: tiny, files: [], listen: ['udp://127.0.0.1:0'], port: 0 };
  const station = await Station.start({ ...common, recordings, ...more });
  opened.push(() => station.close());
  return station;
}

const floats = (bytes: Uint8Array) => [...new Float32Array(new Uint8Array(bytes).buffer)];

describe('a recording that was never closed', () => {
  /** As a crash leaves it, `ageUs` after its last entry. */
  function leftOpen(ageUs: number, origin: 'live' | 'rehearsal', of = tiny): string {
    const at = Date.now() * 1000 - ageUs;
    const file = join(recordings, '2026-11-25-LEFT-1.flight');
    const writer = RecordingWriter.create(file, { station: 'A', origin, started: at });
    writer.append({ kind: 'configuration', ground: groundTime(at), mission: of, files: [] });
    for (let n = 0; n < 50; n++) {
      const rows = [{ A: n === 20 ? 101 : 1 }];
      writer.append(frameEntry(at + n, frameBytes(of, n, at + n * 20_000, [{ group: 'main', rows }])));
    }
    writer.commit();
    writer.abandon();
    return file;
  }

  it('is gone on with: alarms, counts and the traces of its last moments are there again', async () => {
    const file = leftOpen(2_000_000, 'live');
    const station = await start();
    expect(station.recordingFile).toBe(file);
    const { stream, alarms } = station.fold.room();
    expect(stream.frames).toBe(50);
    expect(alarms.map(({ definition }) => definition.id)).toContain('a-high');
    const observer = await TestDisplay.open(station.links[0]!.address);
    opened.push(() => observer.socket.terminate());
    observer.say({ subscribe: { columns: [0], rateHz: 30, historyS: 10 } });
    const update = await waitUntil('the traces come', () => observer.updates().find(({ traces }) => traces?.length));
    expect(Math.max(...floats(update.traces![0]!.high!).filter((high) => !Number.isNaN(high)))).toBe(101);
  });

  it.each([
    ['of long ago', () => leftOpen(2 * 3600 * 1_000_000, 'live')],
    ['that ends hours from now', () => leftOpen(-2 * 3600 * 1_000_000, 'live')],
    ['of a rehearsal', () => leftOpen(2_000_000, 'rehearsal')],
    ['of another stream', () => leftOpen(2_000_000, 'live', { ...tiny, stream: 'OTHER', baselineId: 'other' })],
  ])('%s is left as it is, which is said', async (_, leave) => {
    const file = leave();
    const station = await start();
    expect(station.recordingFile).not.toBe(file);
    expect(station.notices.join()).toContain('a new recording is begun');
    expect(station.fold.room().stream.frames).toBe(0);
  });

  it('goes on in ground time that runs, also when the clock of the machine was set back', async () => {
    leftOpen(-30_000_000, 'live');
    const station = await start();
    expect(station.notices.join()).toMatch(/clock of this machine is (29|30)\.\d s behind the recording/);
    const first = station.fold.ground;
    await waitUntil('ground time runs', () => station.fold.ground > first + 100_000, 2000);
    await waitUntil('old data are called so', () => station.fold.room().stream.state === 'silent', 3000);
  });

  it('whose entries cannot be folded does not keep the station from starting', async () => {
    const file = leftOpen(2_000_000, 'live');
    let made = 0;
    const makeFold = () => {
      const fold = new Pipeline({ gather: 0 });
      // The first stands before any recovery, the second is the one that recovers.
      if (++made === 2)
        fold.step = () => {
          throw new Error('no sense in this entry');
        };
      return fold;
    };
    const station = await start({ makeFold });
    expect(station.recordingFile).not.toBe(file);
    expect(station.notices.join()).toContain('no sense in this entry');
  });

  it('but is no recording at all any more does not keep the station from starting', async () => {
    const file = leftOpen(2_000_000, 'live');
    writeFileSync(file, Buffer.alloc(5000, 7));
    const station = await start();
    expect(station.recordingFile).not.toBe(file);
  });
});
