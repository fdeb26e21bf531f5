import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';
import { isoMicroseconds, SECOND } from '../../protocol/time.ts';
import { readBack } from '../../test/support/imported.ts';
import { importedEntries } from './builder.ts';
import { readIgc } from './igc.ts';

const head = 'AXXX001\r\nHFDTE251126\r\n';
const fix = (time: string, rest = '5130000N00112345WA0100001050') => `B${time}${rest}\r\n`;
const read = (text: string) => readIgc(text, 'f.igc');
const column = (result: ReturnType<typeof readIgc>, name: string, group = 0) => [
  ...(result.flight?.groups[group]?.columns.get(name) ?? []),
];
const times = (result: ReturnType<typeof readIgc>) => [...(result.flight?.groups[0]?.time ?? [])];

test('reads position, both altitudes and the kind of fix', () => {
  const result = read(head + fix('101112') + fix('101113', '5130500S00112345EV-012300000'));
  expect(result.findings).toEqual([]);
  expect(times(result)).toEqual([isoMicroseconds('2026-11-25T10:11:12Z'), isoMicroseconds('2026-11-25T10:11:13Z')]);
  expect(column(result, 'LATITUDE')).toEqual([51.5, -(51 + 30.5 / 60)]);
  expect(column(result, 'LONGITUDE')).toEqual([-(1 + 12.345 / 60), 1 + 12.345 / 60]);
  expect(column(result, 'PRESSURE_ALT')).toEqual([1000, -123]);
  expect(column(result, 'GNSS_ALT')).toEqual([1050, Number.NaN]);
  expect(column(result, 'FIX_3D')).toEqual([1, 0]);
});

test('knows both ways to write the date, and dates of the last century', () => {
  const day = (line: string) => times(read(`AXXX\n${line}\n${fix('000000')}`))[0];
  expect(day('HFDTE251126')).toBe(isoMicroseconds('2026-11-25T00:00:00Z'));
  expect(day('HFDTEDATE:251126,01')).toBe(isoMicroseconds('2026-11-25T00:00:00Z'));
  expect(day('HFDTEDATE: 251126')).toBe(isoMicroseconds('2026-11-25T00:00:00Z'));
  expect(day('HODTE010199')).toBe(isoMicroseconds('1999-01-01T00:00:00Z'));
});

test('goes on past midnight, even when a late record comes from before it', () => {
  const result = read(
    head + fix('235958') + fix('235959') + fix('000001') + fix('000000') + fix('130000') + fix('000500'),
  );
  const midnight = isoMicroseconds('2026-11-26T00:00:00Z');
  expect(times(result).map((time) => (time - midnight) / SECOND)).toEqual([-2, -1, 0, 1, 46_800, 86_700]);
  expect(result.counts.reordered).toBe(1);
  const late = read(head + fix('235959') + fix('000001') + fix('235958'));
  expect(times(late).map((time) => (time - midnight) / SECOND)).toEqual([-2, -1, 1]);
});

test('a pause of more than half a day on one date stays on that date', () => {
  const result = read(head + fix('060000') + fix('193000'));
  expect(times(result)[1]).toBe(isoMicroseconds('2026-11-25T19:30:00Z'));
});

test('reads additions by the columns the file gives them, with decimals by their width', () => {
  const i = 'I083640GSP4143TAS4448VAT4951VAR5255ACZ5658TRT5961FXA6263ZZZ\r\n';
  const result = read(
    `${head}${i}${fix('101112', '5130000N00112345WA0100001050')}`.replace(
      '01050\r\n',
      `01050${'03648'}${'123'}${'-0121'}${'-12'}${'0117'}${'278'}${'012'}${'07'}\r\n`,
    ),
  );
  expect(result.findings).toEqual([]);
  const parameters = result.flight?.mission.parameters.map(({ id, unit }) => `${id} ${unit}`);
  expect(parameters).toEqual([
    ...['LATITUDE deg', 'LONGITUDE deg', 'PRESSURE_ALT m', 'GNSS_ALT m', 'FIX_3D 1'],
    ...['GSP km/h', 'TAS km/h', 'VAT m/s', 'VAR m/s', 'ACZ 1', 'TRT deg', 'FXA m', 'ZZZ 1'],
  ]);
  const values = ['GSP', 'TAS', 'VAT', 'VAR', 'ACZ', 'TRT', 'FXA', 'ZZZ'].map((name) => column(result, name)[0]);
  expect(values).toEqual([36.48, 123, -1.21, -1.2, 1.17, 278, 12, 7]);
});

test('refines position and time where the file gives more digits', () => {
  const result = read(`${head}I033636LAD3738LOD3940TDS\r\n${fix('101112', '5130000N00112345WA010000105052525')}`);
  expect(result.flight?.mission.parameters.map(({ id }) => id)).not.toContain('LAD');
  expect(column(result, 'LATITUDE')[0]).toBeCloseTo(51 + 30.0005 / 60, 12);
  expect(column(result, 'LONGITUDE')[0]).toBeCloseTo(-(1 + 12.34525 / 60), 12);
  expect(times(result)[0]).toBe(isoMicroseconds('2026-11-25T10:11:12.250Z'));
});

test('a recorder without a pressure sensor has no pressure altitude, rather than zero', () => {
  const result = read(
    head + fix('101112', '5130000N00112345WA0000001050') + fix('101113', '5130000N00112345WA0000001051'),
  );
  expect(result.flight?.mission.parameters.map(({ id }) => id)).toEqual([
    'LATITUDE',
    'LONGITUDE',
    'GNSS_ALT',
    'FIX_3D',
  ]);
});

test('a fix without satellites has no position', () => {
  const i = 'I013637SIU\r\n';
  const result = read(
    `${head}${i}${fix('101112', '5130000N00112345WV010000000000')}${fix('101113', '5130000N00112345WV010000000003')}`,
  );
  expect(column(result, 'LATITUDE')).toEqual([Number.NaN, 51.5]);
});

test('K records become a group of their own', () => {
  const result = read(`${head}J020810WDI1115WVE\r\n${fix('101112')}K10111227001624\r\nK10121228001000\r\n`);
  expect(column(result, 'WDI_K', 1)).toEqual([270, 280]);
  expect(column(result, 'WVE_K', 1)).toEqual([16.24, 10]);
});

test('keeps out a line that cannot be read, and names it', () => {
  const result = read(
    `${head}I013638FXA\r\n${fix('101112', '5130000N00112345WA0100001050012')}B10111\r\n${fix('256060', '5130000N00112345WA0100001050012')}` +
      `${fix('101114', '5160000N00112345WA0100001050012')}${fix('101115', '9130000N00112345WA0100001050012')}${fix('101116', '5130000N00112345WA01000010500x2')}` +
      `LXXXanything\r\n${fix('101117', '5130000N00112345WA0100001050   ')}`,
  );
  expect(result.findings.map(({ line, column: at }) => [line, at])).toEqual([
    [5, 0],
    [6, 0],
    [7, 0],
    [8, 0],
    [9, 36],
  ]);
  expect(result.counts).toMatchObject({ kept: 2, refused: 5 });
  expect(column(result, 'FXA')).toEqual([12, Number.NaN]);
});

test.each([
  ['time,alt\n1,2\n', 1, '"time,alt"'],
  ['<?xml version="1.0"?>', 1, '"<?xml version'],
  [`AXXX\n${fix('101112')}`, 2, '"B101112'],
  ['AXXX\nHFDTE320126\n', 2, '"HFDTE320126"'],
  [head, 0, 'no B record'],
  [`${head}Bxyz\n`, 0, 'no B record that can be read'],
  ['', 0, 'no B record'],
])('refuses what is no flight: %j', (text, line, found) => {
  const result = read(text);
  expect(result.flight).toBeUndefined();
  expect(result.findings[0]?.line).toBe(line);
  expect(result.findings[0]?.found).toContain(found);
});

/** Files of many recorders, from the tests of an open-source package that scores such flights. */
const folder = fileURLToPath(new URL('../../node_modules/igc-xc-score/test/', import.meta.url));
const fixtures = readdirSync(folder).filter((name) => name.endsWith('.igc'));
const fixture = (name: string) => readIgc(readFileSync(folder + name, 'utf8'), name);

test('there are fixtures of many recorders', () => expect(fixtures.length).toBe(33));

test.each(fixtures)('%s imports with every fix', (name) => {
  const text = readFileSync(folder + name, 'utf8');
  const result = readIgc(text, name);
  const lines = text.match(/^B/gm)?.length ?? 0;
  expect(result.flight).toBeDefined();
  expect(result.findings).toEqual([]);
  expect(result.flight?.groups[0]?.time.length).toBe(lines);
  const time = times(result);
  expect(time.every((at, i) => i === 0 || at >= (time[i - 1] as number))).toBe(true);
  expect((time.at(-1) as number) - (time[0] as number)).toBeLessThan(24 * 3600 * SECOND);
});

test.each(['d3p.igc', 'marcourt.igc', 'out-and-return-record.igc'])('%s travels in frames unchanged', (name) => {
  const { flight } = fixture(name);
  if (!flight) throw new Error('refused');
  const mission = { baselineId: 'x', ...flight.mission };
  const back = readBack(mission, importedEntries({ mission, files: [], groups: flight.groups }));
  for (const group of flight.groups) {
    expect(back.time.get(group.id)).toEqual([...group.time]);
    for (const [parameter, counts] of group.columns) expect(back.values.get(parameter)).toEqual([...counts]);
  }
});

const defining = (code: string) =>
  fixtures.filter((name) => new RegExp(`^I[0-9A-Z]*${code}`, 'm').test(readFileSync(folder + name, 'utf8')));

// The scale of an addition is checked against the motion that the fixes themselves show.
test.each(['VAT', 'VAR'].flatMap((code) => defining(code).map((name) => [name, code] as const)))(
  '%s: %s is the rate of the pressure altitude, within a tenth',
  (name, code) => {
    const result = fixture(name);
    const [altitude, time] = [column(result, 'PRESSURE_ALT'), times(result)];
    const climb = (i: number, j: number) => ((altitude[j] as number) - (altitude[i] as number)) / seconds(time, i, j);
    expect(Math.abs(slope(column(result, code), climb) - 1)).toBeLessThan(0.1);
  },
);

test.each(defining('GSP'))('%s: GSP is the speed over the ground, within a tenth', (name) => {
  const result = fixture(name);
  const [lat, lon, time] = [column(result, 'LATITUDE'), column(result, 'LONGITUDE'), times(result)];
  const metres = (i: number, j: number) => {
    // short steps on a sphere of the earth's mean radius: good to 0.5 %
    const north = ((lat[j] as number) - (lat[i] as number)) * 111_195;
    const east = ((lon[j] as number) - (lon[i] as number)) * 111_195 * Math.cos(((lat[i] as number) * Math.PI) / 180);
    return Math.hypot(north, east);
  };
  const speed = (i: number, j: number) => {
    let sum = 0;
    for (let k = i; k < j; k++) sum += metres(k, k + 1);
    return (sum / seconds(time, i, j)) * 3.6;
  };
  expect(Math.abs(slope(column(result, 'GSP'), speed) - 1)).toBeLessThan(0.1);
});

test.each(defining('ACZ'))('%s: ACZ is about 1 in the middle', (name) => {
  const load = column(fixture(name), 'ACZ').sort((a, b) => a - b);
  expect(load[load.length >> 1]).toBeGreaterThan(0.9);
  expect(load[load.length >> 1]).toBeLessThan(1.2);
});

test('the fixtures show every scale that is checked', () => {
  expect(['VAT', 'VAR', 'GSP', 'ACZ'].map((code) => defining(code).length)).toEqual([3, 1, 3, 4]);
});

const seconds = (time: number[], i: number, j: number) => ((time[j] as number) - (time[i] as number)) / SECOND;

/** Least-squares slope of `truth` against the mean of `given`, over steps of twenty fixes. */
function slope(given: number[], truth: (i: number, j: number) => number): number {
  const STEP = 20;
  let [xy, xx] = [0, 0];
  for (let i = 0; i + STEP < given.length; i += STEP) {
    const x = given.slice(i, i + STEP).reduce((sum, value) => sum + value, 0) / STEP;
    const y = truth(i, i + STEP);
    if (!Number.isFinite(y)) continue;
    xy += x * y;
    xx += x * x;
  }
  return xy / xx;
}
