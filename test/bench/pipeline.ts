/**
 * Part `pipeline`: decode, select, convert, derive, check and alarm against copying int16 columns to float64, with and
 * without the flight log.
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Entry } from '../../protocol/entry.ts';
import { groundTime } from '../../protocol/time.ts';
import { Pipeline } from '../../station/pipeline.ts';
import { openRecorder } from '../../station/record/record.ts';
import { copyLimit, PARAMETERS, RATE, stressFrames, stressMission } from './load.ts';
import { compare, type Part, seconds } from './measure.ts';

const SECONDS = 6;
const START = 1_764_064_800_000_000;

export async function pipelinePart(rounds: number): Promise<Part> {
  const entries = stressFrames(SECONDS, START);
  const samples = SECONDS * PARAMETERS * RATE;
  const fold = (gather: number): number => {
    const pipeline = new Pipeline({ gather });
    pipeline.step({ kind: 'configuration', ground: groundTime(START), mission: stressMission, files: [] });
    let alarms = 0;
    const spent = seconds(() => {
      for (const entry of entries) alarms += pipeline.step(entry).alarms.length;
      alarms += pipeline.flush().alarms.length;
    });
    if (pipeline.room().stream.samples !== samples) throw new Error('not every sample went through');
    if (alarms === 0) throw new Error('the load raised no alarm: nothing was checked');
    return samples / spent;
  };
  const copy = () => copyLimit(samples * 4);
  /** The same with the recorder keeping every entry; the time ends when all of it is on disk. */
  const recorded = async (gather: number): Promise<number> => {
    const dir = mkdtempSync(join(tmpdir(), 'bench-'));
    const started = groundTime(START);
    const recorder = openRecorder({
      dir,
      name: 'bench',
      station: 'bench',
      origin: 'live',
      started,
      bufferBytes: 1 << 30,
    });
    await recorder.ready;
    const pipeline = new Pipeline({ gather });
    const begin = process.hrtime.bigint();
    const take = (entry: Entry) => {
      recorder.append(entry);
      recorder.outputs(pipeline.step(entry));
    };
    take({ kind: 'configuration', ground: started, mission: stressMission, files: [] });
    for (const entry of entries) take(entry);
    recorder.outputs(pipeline.flush());
    await recorder.flush();
    const spent = Number(process.hrtime.bigint() - begin) / 1e9;
    const { lost, committed } = recorder.state();
    await recorder.close(started);
    rmSync(dir, { recursive: true, force: true });
    if (lost > 0 || committed !== entries.length + 1) throw new Error('not every entry was recorded');
    return samples / spent;
  };
  return {
    part: 'pipeline',
    rows: [
      await compare('replay batches of 1 s', 'samples/s', rounds, () => fold(1_000_000), copy),
      await compare('live batches of 20 ms', 'samples/s', rounds, () => fold(0), copy),
      await compare('replay batches, recorded to disk', 'samples/s', rounds, () => recorded(1_000_000), copy),
      await compare('live batches, recorded to disk', 'samples/s', rounds, () => recorded(0), copy),
    ],
  };
}
