import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { isoMicroseconds, SECOND } from '../../protocol/time.ts';
import { temporaryFolder } from '../../test/support/temporary-folder.ts';
import { type CsvColumn, type CsvFile, readCsv } from './csv.ts';

const place = { file: 'mapping.yaml', line: 7, column: 5 };
const column = (name: string, more: Partial<CsvColumn> = {}): CsvColumn => ({
  column: name,
  parameter: name.toUpperCase(),
  format: 'f64',
  place,
  ...more,
});

function read(text: string | Uint8Array, more: Partial<CsvFile> = {}) {
  const path = join(temporaryFolder(), 'log.csv');
  writeFileSync(path, text);
  return readCsv({
    path,
    name: 'log.csv',
    group: 'log',
    time: { column: 't', kind: 'number', unit: SECOND, base: 0 },
    timePlace: place,
    delimiter: ',',
    decimal: '.',
    missing: ['', 'nan'],
    columns: [column('a')],
    ...more,
  });
}

const values = (result: Awaited<ReturnType<typeof read>>, parameter = 'A') => [
  ...(result.group?.columns.get(parameter) ?? []),
];
const times = (result: Awaited<ReturnType<typeof read>>) => [...(result.group?.time ?? [])];

test('reads mapped columns by name and leaves the others alone', async () => {
  const result = await read('\uFEFFx, a ,t,b\r\n"one, two",1.5,10,x\r\n,-2e3,10.000001,\r\n', {
    columns: [column('a'), column('b', { parameter: 'OTHER' })],
    missing: ['x', ''],
  });
  expect(result.findings).toEqual([]);
  expect(times(result)).toEqual([10_000_000, 10_000_001]);
  expect(values(result)).toEqual([1.5, -2000]);
  expect(values(result, 'OTHER')).toEqual([Number.NaN, Number.NaN]);
  expect(result.counts).toEqual({ kept: 2, refused: 0, reordered: 0, empty: 0 });
});

test('knows the times people write', async () => {
  const file = (text: string) => `t,a\n${text},1\n`;
  const at = async (text: string, time: CsvFile['time']) => times(await read(file(text), { time }))[0];
  const epoch = isoMicroseconds('2026-11-25T10:00:00Z');
  expect(await at('1795600000.123456', { column: 't', kind: 'number', unit: SECOND, base: 0 })).toBe(1795600000123456);
  expect(await at('1500', { column: 't', kind: 'number', unit: 1000, base: epoch })).toBe(epoch + 1_500_000);
  expect(await at('540369296', { column: 't', kind: 'number', unit: 1, base: epoch })).toBe(epoch + 540369296);
  expect(await at('2026-11-25T10:00:00.000001Z', { column: 't', kind: 'iso', zone: 'Z' })).toBe(epoch + 1);
  expect(await at('2026-11-25 11:00:00', { column: 't', kind: 'iso', zone: '+01:00' })).toBe(epoch);
});

test('reads semicolons and decimal commas', async () => {
  const result = await read('t;a\n1,5;2,25\n2;3\n3;1.5\n', { delimiter: ';', decimal: ',' });
  expect(times(result)).toEqual([1_500_000, 2_000_000]);
  expect(values(result)).toEqual([2.25, 3]);
  expect(result.findings).toMatchObject([{ line: 4, found: '"1.5"' }]);
});

test('keeps out a row with a bad number, names its line, and loses nothing else', async () => {
  const result = await read('t,a\n1,1\n2,0x10\n3,3\nlater,4\n5\n6,1e999\n7,7,7\n8,8\n');
  expect(times(result)).toEqual([1, 3, 8].map((s) => s * SECOND));
  expect(result.findings.map(({ line, found, expected }) => [line, found, expected])).toEqual([
    [3, '"0x10"', 'a number in a'],
    [5, '"later"', 'a number in t'],
    [6, '1 cells', '2, as in line 1'],
    [7, '"1e999"', 'a number in a'],
    [8, '3 cells', '2, as in line 1'],
  ]);
  expect(result.counts).toMatchObject({ kept: 3, refused: 5 });
});

test('a value that is missing is no value, and a row without any is a gap', async () => {
  const result = await read('t,a,b\n1,,2\n2,nan,\n3,3,3\n', { columns: [column('a'), column('b')] });
  expect(times(result)).toEqual([1 * SECOND, 3 * SECOND]);
  expect(values(result)).toEqual([Number.NaN, 3]);
  expect(result.counts).toMatchObject({ kept: 2, empty: 1, refused: 0 });
});

test('puts late rows into their place, those of one moment as they came', async () => {
  const result = await read('t,a\n1,1\n3,3\n2,2\n3,4\n');
  expect(values(result)).toEqual([1, 2, 3, 4]);
  expect(result.counts.reordered).toBe(1);
});

test('a whole-number format takes whole numbers that fit', async () => {
  const result = await read('t,a\n1,255\n2,256\n3,1.5\n4,-1\n5,\n6,0\n', { columns: [column('a', { format: 'u8' })] });
  expect(values(result)).toEqual([255, 0]);
  expect(result.findings.map((finding) => finding.line)).toEqual([3, 4, 5]);
  expect(result.counts).toMatchObject({ empty: 1 });
  const two = await read('t,a,b\n1,,1\n', { columns: [column('a', { format: 'u8' }), column('b')] });
  expect(two.findings).toMatchObject([{ line: 2, found: 'no value' }]);
});

test('a column that is not there is told at its place in the mapping, with the nearest name', async () => {
  const result = await read('t,airspeed\n1,1\n', { columns: [column('air_speed')] });
  expect(result.group).toBeUndefined();
  expect(result.findings).toEqual([
    {
      code: 'mapping-unusable',
      ...place,
      found: '"air_speed"',
      expected: 'a column of log.csv: t, airspeed',
      hint: 'did you mean airspeed?',
    },
  ]);
});

test('refuses what is no such file, and says why', async () => {
  expect((await read('')).findings).toMatchObject([{ found: 'an empty file' }]);
  expect((await readCsv({ ...base, path: '/none/there.csv' })).findings).toMatchObject([{ code: 'file-missing' }]);
  const binary = await read(Uint8Array.from({ length: 5000 }, (_, i) => (i * 37) & 255));
  expect(binary.group).toBeUndefined();
  expect(binary.findings.length).toBeGreaterThan(0);
});
const base: CsvFile = {
  path: '',
  name: 'there.csv',
  group: 'g',
  time: { column: 't', kind: 'number', unit: 1, base: 0 },
  timePlace: place,
  delimiter: ',',
  decimal: '.',
  missing: [],
  columns: [column('a')],
};

test('a quote that is never closed costs what follows it, and the line is named', async () => {
  const result = await read('t,a\n1,1\n2,2\n"3,3\n4,4\n');
  expect(times(result)).toEqual([1 * SECOND, 2 * SECOND]);
  expect(result.findings).toMatchObject([{ line: 4, found: 'a quote that is never closed' }]);
});

test('lists the first hundred bad lines and counts all', async () => {
  const rows = Array.from({ length: 1000 }, (_, i) => `${i},${i % 2 ? 'x' : i}`).join('\n');
  const result = await read(`t,a\n${rows}\n`);
  expect(result.findings.length).toBe(100);
  expect(result.counts).toMatchObject({ kept: 500, refused: 500 });
});
