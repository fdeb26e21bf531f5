/** CRC-32C against the vectors of RFC 3720; rows and sources in checksum.json. */
import { readFileSync } from 'node:fs';
import * as zlib from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { crc32c } from '../../protocol/checksum.ts';

interface ChecksumRow {
  id: string;
  quantity: string;
  inputs: { ascii?: string; pattern?: string };
  expected: string;
  source: string;
  fromMemory?: boolean;
}

const rows = JSON.parse(readFileSync(new URL('checksum.json', import.meta.url), 'utf8')) as ChecksumRow[];

const patterns: Record<string, Uint8Array> = {
  '32 x 00': new Uint8Array(32),
  '32 x ff': new Uint8Array(32).fill(255),
  '00..1f': Uint8Array.from({ length: 32 }, (_, i) => i),
  '1f..00': Uint8Array.from({ length: 32 }, (_, i) => 31 - i),
};

const bytesOf = ({ inputs }: ChecksumRow) =>
  inputs.ascii === undefined ? (patterns[inputs.pattern ?? ''] as Uint8Array) : Buffer.from(inputs.ascii, 'ascii');

const named = (of: ChecksumRow[]) =>
  of.map((row) => [`${row.id}: ${row.quantity} (${row.fromMemory ? 'FROM MEMORY; ' : ''}${row.source})`, row] as const);

describe('published checksums', () => {
  it.each(named(rows.filter(({ id }) => id !== 'CR-32')))('%s', (_, row) => {
    expect(crc32c(bytesOf(row)).toString(16).padStart(8, '0')).toBe(row.expected);
  });

  // nothing of ours computes this one: it tells the other common checksum from ours
  it.each(named(rows.filter(({ id }) => id === 'CR-32')))('%s: another checksum than ours', (_, row) => {
    expect(crc32c(bytesOf(row)).toString(16).padStart(8, '0')).not.toBe(row.expected);
    // Node.js has it from 20.15 on
    const { crc32 } = zlib as { crc32?: (bytes: Uint8Array) => number };
    if (crc32) expect(crc32(bytesOf(row)).toString(16)).toBe(row.expected);
  });
});
