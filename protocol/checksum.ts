/**
 * CRC-32C (Castagnoli polynomial 0x1EDC6F41, reflected), as RFC 3720 appendix B.4 prints its check values. Every received
 * byte passes here, so it goes 16 bytes a step, read as four little-endian words.
 */

const SLICES = 16;

/** Slice t at 256 t: what a byte does to the checksum when t more bytes follow it in the same step. */
const tables = makeTables();

function makeTables(): Int32Array {
  const reflected = 0x82f63b78;
  const table = new Int32Array(256 * SLICES);
  for (let n = 0; n < 256; n++) {
    let c = n;
    for (let k = 0; k < 8; k++) c = c & 1 ? (c >>> 1) ^ reflected : c >>> 1;
    table[n] = c;
  }
  for (let at = 256; at < table.length; at++) {
    const c = table[at - 256] as number;
    table[at] = (table[c & 255] as number) ^ (c >>> 8);
  }
  return table;
}

const noWords = new Int32Array(0);

/** Checksum of `bytes` as an unsigned 32-bit number. */
export function crc32c(bytes: Uint8Array): number {
  const t = tables;
  const { length, byteOffset } = bytes;
  // words must begin at a multiple of four bytes of the buffer
  const head = Math.min(length, (4 - (byteOffset & 3)) & 3);
  let crc = -1;
  let i = 0;
  for (; i < head; i++) crc = (crc >>> 8) ^ t[(crc ^ bytes[i]!) & 255]!;
  const fours = ((length - head) >> 4) << 2;
  const words = fours > 0 ? new Int32Array(bytes.buffer, byteOffset + head, fours) : noWords;
  for (let w = 0; w < fours; w += 4) {
    const a = crc ^ words[w]!;
    const b = words[w + 1]!;
    const c = words[w + 2]!;
    const d = words[w + 3]!;
    crc =
      t[3840 + (a & 255)]! ^
      t[3584 + ((a >>> 8) & 255)]! ^
      t[3328 + ((a >>> 16) & 255)]! ^
      t[3072 + (a >>> 24)]! ^
      t[2816 + (b & 255)]! ^
      t[2560 + ((b >>> 8) & 255)]! ^
      t[2304 + ((b >>> 16) & 255)]! ^
      t[2048 + (b >>> 24)]! ^
      t[1792 + (c & 255)]! ^
      t[1536 + ((c >>> 8) & 255)]! ^
      t[1280 + ((c >>> 16) & 255)]! ^
      t[1024 + (c >>> 24)]! ^
      t[768 + (d & 255)]! ^
      t[512 + ((d >>> 8) & 255)]! ^
      t[256 + ((d >>> 16) & 255)]! ^
      t[d >>> 24]!;
  }
  for (i += fours * 4; i < length; i++) crc = (crc >>> 8) ^ t[(crc ^ bytes[i]!) & 255]!;
  return ~crc >>> 0;
}
