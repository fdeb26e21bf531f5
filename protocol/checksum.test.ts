import fc from 'fast-check';
import { expect, it } from 'vitest';
import { crc32c } from './checksum.ts';

/** Bit by bit, as the polynomial is defined. */
function slowly(bytes: Uint8Array): number {
  let crc = 0xffffffff;
  for (const byte of bytes) {
    crc ^= byte;
    for (let k = 0; k < 8; k++) crc = crc & 1 ? (crc >>> 1) ^ 0x82f63b78 : crc >>> 1;
  }
  return ~crc >>> 0;
}

it('equals the definition for any bytes, wherever they lie in their buffer', () => {
  fc.assert(
    fc.property(fc.uint8Array({ maxLength: 200 }), fc.nat(9), fc.nat(9), (bytes, before, after) => {
      const buffer = new Uint8Array(before + bytes.length + after).fill(0xa5);
      buffer.set(bytes, before);
      return crc32c(buffer.subarray(before, before + bytes.length)) === slowly(bytes);
    }),
    { seed: 31, numRuns: 2000 },
  );
});

// RFC 3720 appendix B.4; the catalogue's check value for "123456789"
it.each([
  [new TextEncoder().encode('123456789'), 0xe3069283],
  [new Uint8Array(32), 0x8a9136aa],
  [new Uint8Array(32).fill(255), 0x62a8ab43],
  [Uint8Array.from({ length: 32 }, (_, i) => i), 0x46dd794e],
  [Uint8Array.from({ length: 32 }, (_, i) => 31 - i), 0x113fdb5c],
])('gives the published check values', (bytes, expected) => {
  expect(crc32c(bytes)).toBe(expected);
});
