/**
 * CRC-32C (Castagnoli polynomial 0x1EDC6F41, reflected), as RFC 3720 appendix B.4 prints its check values. Eight tables,
 * eight bytes a step, since every received byte passes here.
 */
const tables = makeTables();

function makeTables(): Int32Array[] {
  const reflected = 0x82f63b78;
  const first = new Int32Array(256);
  for (let n = 0; n < 256; n++) {
    let c = n;
    for (let k = 0; k < 8; k++) c = c & 1 ? (c >>> 1) ^ reflected : c >>> 1;
    first[n] = c;
  }
  const all = [first];
  for (let t = 1; t < 8; t++) {
    const before = all[t - 1] as Int32Array;
    const table = new Int32Array(256);
    for (let n = 0; n < 256; n++) {
      const c = before[n] as number;
      table[n] = (first[c & 255] as number) ^ (c >>> 8);
    }
    all.push(table);
  }
  return all;
}

/** Checksum of `bytes` as an unsigned 32-bit number. */
export function crc32c(bytes: Uint8Array): number {
  const [t0, t1, t2, t3, t4, t5, t6, t7] = tables as [
    Int32Array,
    Int32Array,
    Int32Array,
    Int32Array,
    Int32Array,
    Int32Array,
    Int32Array,
    Int32Array,
  ];
  let crc = -1;
  let i = 0;
  const eights = bytes.length - 7;
  for (; i < eights; i += 8) {
    const low = crc ^ (bytes[i]! | (bytes[i + 1]! << 8) | (bytes[i + 2]! << 16) | (bytes[i + 3]! << 24));
    crc =
      t7[low & 255]! ^
      t6[(low >>> 8) & 255]! ^
      t5[(low >>> 16) & 255]! ^
      t4[low >>> 24]! ^
      t3[bytes[i + 4]!]! ^
      t2[bytes[i + 5]!]! ^
      t1[bytes[i + 6]!]! ^
      t0[bytes[i + 7]!]!;
  }
  for (; i < bytes.length; i++) crc = (crc >>> 8) ^ t0[(crc ^ bytes[i]!) & 255]!;
  return ~crc >>> 0;
}
