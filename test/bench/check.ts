/**
 * Part `check`: conversion and limits together, 2,000 limits on 1,000 parameters at full rate, against copying the same
 * int16 columns to float64. Decoding is done before and not timed.
 */
import type { Batch, FrameSpan } from '../../protocol/batch.ts';
import type { Mission } from '../../protocol/mission.ts';
import type { RawGroup } from '../../protocol/raw.ts';
import { compileCheck } from '../../station/check/check.ts';
import { compileConvert } from '../../station/convert/convert.ts';
import { compileDecode, type OpenFrame } from '../../station/decode/decode.ts';
import { copyLimit, PARAMETERS, RATE, stressFrames, stressMission } from './load.ts';
import { compare, type Part } from './measure.ts';

const SECONDS = 6;
const START = 1_764_064_800_000_000;

/** The same load without derived parameters, which belong to another part; `limits` in place of its own. */
const missionOf = (limits = stressMission.limits): Mission => ({ ...stressMission, derived: [], limits });

/** Frames of the load, opened, `together` of them to a run. */
function runsOf(
  mission: Mission,
  together: number,
): { open: OpenFrame[]; append: (frames: OpenFrame[]) => RawGroup[] }[] {
  const { value: decode } = compileDecode(mission);
  if (!decode) throw new Error('the load does not compile');
  const frames = stressFrames(SECONDS, START).map((entry) => {
    const frame = decode.open(entry.bytes, entry.input);
    if ('refused' in frame) throw new Error(`the load has a frame that is ${frame.refused}`);
    return frame;
  });
  const append = (list: OpenFrame[]): RawGroup[] => {
    decode.clear();
    for (const frame of list) decode.append(frame);
    return [...decode.groups];
  };
  const runs: { open: OpenFrame[]; append: typeof append }[] = [];
  for (let f = 0; f < frames.length; f += together) runs.push({ open: frames.slice(f, f + together), append });
  return runs;
}

/** Samples a second through convert and check, and how many changes the limits brought. */
function measure(mission: Mission, together: number): () => number {
  const runs = runsOf(mission, together);
  return () => {
    const { value: convert } = compileConvert(mission);
    const { value: check } = compileCheck(mission);
    if (!convert || !check) throw new Error('the load does not compile');
    const rateWrong = new Uint8Array(mission.groups.length);
    const batches: (Batch | undefined)[] = [];
    let spent = 0n;
    let samples = 0;
    let changes = 0;
    for (const { open, append } of runs) {
      const raw = append(open);
      const frames: FrameSpan = {
        length: open.length,
        aircraft: Float64Array.from(open, ({ time }) => time),
        ground: Float64Array.from(open, ({ time }) => time + 15_000),
        taken: Float64Array.from(open, ({ time }) => time + 15_000),
      };
      const begin = process.hrtime.bigint();
      convert.run(raw, batches, rateWrong);
      changes += check.run(batches, frames).length;
      spent += process.hrtime.bigint() - begin;
      samples += (raw[0]?.length ?? 0) * PARAMETERS;
    }
    if (samples !== SECONDS * PARAMETERS * RATE) throw new Error('not every sample went through');
    if (changes < mission.limits.length) throw new Error('not every limit was checked');
    return samples / (Number(spent) / 1e9);
  };
}

export async function checkPart(rounds: number): Promise<Part> {
  const copy = () => copyLimit(SECONDS * PARAMETERS * RATE * 4);
  // every sample lies beyond a caution value whose time is not over: none can be passed over by its block's extremes
  const pending = missionOf(
    stressMission.limits.map((limit) => ({
      ...limit,
      ...(limit.above && { above: { caution: -140, warning: 1000 } }),
      ...(limit.below && { below: { caution: 140, warning: -1000 } }),
      persistence: 3600_000_000,
    })),
  );
  return {
    part: 'check',
    rows: [
      await compare('conversion and limits, 1 s a run', 'samples/s', rounds, measure(missionOf(), 50), copy, 0.1),
      await compare('conversion and limits, 20 ms a run', 'samples/s', rounds, measure(missionOf(), 1), copy),
      await compare('with every timer running, 1 s a run', 'samples/s', rounds, measure(pending, 50), copy),
    ],
  };
}
