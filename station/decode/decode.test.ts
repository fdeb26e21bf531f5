import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { encodeEnvelope, encodeFrame } from '../../protocol/wire.ts';
import { frameBytes, group, mission, parameter } from '../../test/support/tiny-mission.ts';
import { Decode, type OpenFrame } from './decode.ts';

const mixed = mission({
  groups: [group('fast', 1000), group('event', 0)],
  parameters: [
    parameter('B', 'fast', { format: 'u8' }),
    parameter('D', 'fast', { format: 'f64' }),
    parameter('W', 'fast', { format: 'i32' }),
    parameter('E', 'event', { format: 'f32' }),
  ],
});

const opened = (decode: Decode, bytes: Uint8Array): OpenFrame => {
  const frame = decode.open(bytes);
  if ('refused' in frame) throw new Error(frame.refused);
  return frame;
};

describe('decode', () => {
  it('returns every sample with its time, whatever the widths and wherever the bytes lie', () => {
    const decode = new Decode(mixed);
    const rows = [
      { B: 200, D: -1.5, W: -70000 },
      { B: 1, D: 2 ** 40 + 0.25, W: 5 },
      { B: 0, D: 0, W: 2_000_000_000 },
    ];
    const frame = frameBytes(mixed, 7, 1_000_000, [
      { group: 'fast', rows, offsetUs: 500 },
      { group: 'event', rows: [{ E: 0.5 }, { E: 8 }], offsets: [3, 19_000] },
    ]);
    for (let shift = 0; shift < 8; shift++) {
      const envelope = encodeEnvelope('North', 1, frame);
      const moved = new Uint8Array(envelope.length + shift).subarray(shift);
      moved.set(envelope);
      decode.clear();
      const open = opened(decode, moved);
      expect(open).toMatchObject({ receiver: 0, counter: 7, time: 1_000_000, lastTime: 1_019_000 });
      decode.append(open);
      const [fast, event] = decode.groups;
      // wire order: f64 D, i32 W, u8 B
      expect(fast?.counts.map((column) => [...column.subarray(0, 3)])).toEqual([
        rows.map((row) => row.D),
        rows.map((row) => row.W),
        rows.map((row) => row.B),
      ]);
      expect([...(fast?.time.subarray(0, 3) ?? [])]).toEqual([1_000_500, 1_001_500, 1_002_500]);
      expect([...(event?.time.subarray(0, 2) ?? [])]).toEqual([1_000_003, 1_019_000]);
      expect([...(event?.counts[0]?.subarray(0, 2) ?? [])]).toEqual([0.5, 8]);
    }
  });

  it('gathers frame after frame beyond its first capacity', () => {
    const decode = new Decode(mixed);
    for (let f = 0; f < 40; f++) {
      const rows = Array.from({ length: 20 }, (_, i) => ({ B: i, D: f * 20 + i, W: -i }));
      decode.append(
        opened(decode, encodeEnvelope('', 0, frameBytes(mixed, f, 1e6 + f * 20_000, [{ group: 'fast', rows }]))),
      );
    }
    expect(decode.groups[0]?.length).toBe(800);
    expect([...(decode.groups[0]?.counts[0]?.subarray(0, 800) ?? [])]).toEqual(
      Array.from({ length: 800 }, (_, i) => i),
    );
  });

  it('refuses another stream or schema as foreign and a broken checksum as damaged, before taking a sample', () => {
    const decode = new Decode(mixed);
    const other = { ...mixed, stream: 'OTHER' };
    expect(decode.open(encodeEnvelope('South', 0, frameBytes(other, 1, 1e6, [])))).toEqual({
      refused: 'foreign',
      receiver: 1,
    });
    expect(decode.open(encodeEnvelope('Elsewhere', 0, frameBytes(mixed, 1, 1e6, [])))).toEqual({
      refused: 'foreign',
      receiver: -1,
    });
    const good = frameBytes(mixed, 1, 1e6, [{ group: 'fast', rows: [{ B: 1, D: 2, W: 3 }] }]);
    for (let bit = 0; bit < good.length * 8; bit++) {
      const bad = good.slice();
      bad[bit >> 3] = (bad[bit >> 3] as number) ^ (1 << (bit & 7));
      expect(decode.open(encodeEnvelope('South', 0, bad)), `bit ${bit}`).toHaveProperty('refused');
    }
    expect(decode.groups.every((g) => g.length === 0)).toBe(true);
  });

  it('refuses groups that do not have the shape the mission gives them', () => {
    const decode = new Decode(mixed);
    const shapes = [
      { group: 9, samples: 1, columns: new Uint8Array(13) },
      { group: 0, samples: 2, columns: new Uint8Array(13) },
      { group: 0, samples: 1, columns: new Uint8Array(13), sampleOffsetsUs: new Uint8Array(4) },
      { group: 1, samples: 1, columns: new Uint8Array(4) },
      {
        group: 1,
        samples: 2,
        columns: new Uint8Array(8),
        sampleOffsetsUs: new Uint8Array(Uint32Array.of(5, 4).buffer),
      },
      { group: 0, samples: 2 ** 30, columns: new Uint8Array(13) },
    ];
    for (const shape of shapes) {
      const frame = encodeFrame({ stream: 'TINY', frameCounter: 1, timeUs: 1e6, groups: [shape] });
      expect(decode.open(encodeEnvelope('', 0, frame))).toEqual({ refused: 'damaged', receiver: -1 });
    }
    const twice = { group: 0, samples: 1, columns: new Uint8Array(13) };
    const frame = encodeFrame({ stream: 'TINY', frameCounter: 1, timeUs: 1e6, groups: [twice, twice] });
    expect(decode.open(encodeEnvelope('', 0, frame))).toHaveProperty('refused', 'damaged');
    for (const timeUs of [0, 2 ** 60]) {
      const late = encodeFrame({ stream: 'TINY', frameCounter: 1, timeUs, groups: [] });
      expect(decode.open(encodeEnvelope('', 0, late))).toHaveProperty('refused', 'damaged');
    }
  });

  it('survives any bytes at all', () => {
    const decode = new Decode(mixed);
    const good = encodeEnvelope(
      'North',
      9,
      frameBytes(mixed, 1, 1e6, [{ group: 'fast', rows: [{ B: 1, D: 2, W: 3 }] }]),
    );
    fc.assert(
      fc.property(
        fc.oneof(
          fc.uint8Array({ maxLength: 400 }),
          fc.nat(good.length).map((n) => good.subarray(0, n)),
          fc.tuple(fc.nat(good.length - 1), fc.nat(255)).map(([at, byte]) => {
            const bad = good.slice();
            bad[at] = byte;
            return bad;
          }),
        ),
        (bytes) => {
          const result = decode.open(bytes);
          return 'refused' in result || Buffer.from(bytes).equals(Buffer.from(good)) || result.counter === 1;
        },
      ),
      { seed: 20261125, numRuns: 5000 },
    );
  });
});
