import fc from 'fast-check';
import { expect, test } from 'vitest';
import type { Entry } from '../../protocol/entry.ts';
import { groundTime } from '../../protocol/time.ts';
import { encodeEntries } from '../../protocol/wire.ts';
import { codecs, pack, packBlock, plainBlock, unpackEntries } from './block.ts';

const frame = (bytes: Uint8Array, input = 'in'): Entry => ({ kind: 'frame', ground: groundTime(5), input, bytes });
const bytesOf = (entries: Entry[]) => entries.map((entry) => (entry.kind === 'frame' ? [...entry.bytes] : entry.kind));

function throughBlock(entries: Entry[]): Entry[] {
  const { bytes, plainBytes } = packBlock(plainBlock(entries));
  return unpackEntries(codecs.frames, bytes, plainBytes);
}

test('frames of any lengths, equal or not, come back byte for byte among other entries', () => {
  const lengths = fc.constantFrom(0, 1, 2, 7, 40);
  const frames = lengths.chain((length) => fc.uint8Array({ minLength: length, maxLength: length }));
  const list = fc.array(
    fc.oneof(
      frames.map((bytes) => frame(bytes)),
      fc.constant<Entry>({ kind: 'tick', ground: groundTime(5) }),
    ),
    {
      minLength: 1,
      maxLength: 60,
    },
  );
  fc.assert(
    fc.property(list, (entries) => {
      expect(bytesOf(throughBlock(entries))).toEqual(bytesOf(entries));
    }),
    { seed: 5, numRuns: 200 },
  );
});

test('a block packed the first way can still be read', () => {
  const entries = [frame(Uint8Array.of(1, 2, 3)), frame(Uint8Array.of(4))];
  const plain = encodeEntries(entries);
  expect(bytesOf(unpackEntries(codecs.plain, pack(plain), plain.length))).toEqual([[1, 2, 3], [4]]);
  expect(() => unpackEntries(9, pack(plain), plain.length)).toThrow(/way 9, which this build does not know/);
});

test('damaged bytes throw, whatever they are', () => {
  const { bytes, plainBytes } = packBlock(
    plainBlock(Array.from({ length: 20 }, (_, i) => frame(Uint8Array.of(i, 2, 3, i)))),
  );
  fc.assert(
    fc.property(fc.uint8Array({ maxLength: 80 }), fc.nat(bytes.length - 1), fc.nat(7), (noise, at, bit) => {
      const flipped = Uint8Array.from(bytes);
      flipped[at] = (flipped[at] as number) ^ (1 << bit);
      for (const damaged of [flipped, noise, pack(noise)]) {
        try {
          unpackEntries(codecs.frames, damaged, plainBytes);
        } catch (error) {
          expect(error).toBeInstanceOf(Error);
        }
      }
    }),
    { seed: 6, numRuns: 300 },
  );
});

test('telemetry by two receivers packs to less than 0.35 of its distinct frames', () => {
  const counts = new Int16Array(600);
  let x = 1;
  const step = () => {
    x = Math.imul(x, 1_664_525) + 1_013_904_223;
    return ((x >>> 16) % 7) - 3;
  };
  const entries: Entry[] = [];
  let distinct = 0;
  for (let i = 0; i < 50; i++) {
    for (let k = 0; k < counts.length; k++) counts[k] = (counts[k] as number) + step();
    const bytes = new Uint8Array(counts.slice().buffer);
    distinct += bytes.length;
    entries.push(frame(bytes, 'udp://127.0.0.1:47010'), frame(bytes, 'udp://127.0.0.1:47011'));
  }
  expect(packBlock(plainBlock(entries)).bytes.length / distinct).toBeLessThan(0.35);
});
