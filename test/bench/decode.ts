/** Part `decode`: checked frames to raw columns, against protobufjs decoding the same frames and one read of each sample. */
import { decodeBody, decodeEnvelope, decodeFrame } from '../../protocol/wire.ts';
import { Decode } from '../../station/decode/decode.ts';
import { PARAMETERS, RATE, stressFrames, stressMission } from './load.ts';
import { compare, type Part, seconds } from './measure.ts';

const SECONDS = 6;
const START = 1_764_064_800_000_000;
/** Frames gathered before the columns are handed on, as in a replay: one second. */
const GATHERED = 50;

export async function decodePart(rounds: number): Promise<Part> {
  const frames = stressFrames(SECONDS, START).map(({ bytes }) => bytes);
  const samples = SECONDS * PARAMETERS * RATE;
  const product = (): number => {
    const decode = new Decode(stressMission);
    let taken = 0;
    const spent = seconds(() => {
      frames.forEach((bytes, f) => {
        const frame = decode.open(bytes);
        if ('refused' in frame) throw new Error(`frame ${f} was refused: ${frame.refused}`);
        decode.append(frame);
        if (f % GATHERED === GATHERED - 1) {
          for (const group of decode.groups) taken += group.length * group.counts.length;
          decode.clear();
        }
      });
    });
    if (taken !== samples) throw new Error('not every sample was taken');
    return samples / spent;
  };
  let sum = 0;
  const bare = (): number => {
    const spent = seconds(() => {
      for (const bytes of frames) {
        const body = decodeBody(decodeFrame(decodeEnvelope(bytes).frame).body);
        for (const { columns } of body.groups as { columns: Uint8Array }[]) {
          // a view where the bytes are aligned, a copy where they are not
          const even = columns.byteOffset % 2 === 0 ? columns : new Uint8Array(columns);
          const counts = new Int16Array(even.buffer, even.byteOffset, even.length / 2);
          for (let i = 0; i < counts.length; i++) sum += counts[i] as number;
        }
      }
    });
    return samples / spent;
  };
  const row = await compare('frames to columns, checksum included', 'samples/s', rounds, product, bare, 0.8);
  if (sum === 0) throw new Error('nothing was read');
  return { part: 'decode', rows: [row] };
}
