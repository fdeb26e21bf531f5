import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { isoMicroseconds, SECOND } from '../../protocol/time.ts';
import { plainParameter, timedGroup } from '../../replay/import/builder.ts';
import { temporaryFolder } from '../../test/support/temporary-folder.ts';
import { loadMapping } from './mapping.ts';

function load(text: string, base?: Parameters<typeof loadMapping>[1]) {
  const path = join(temporaryFolder(), 'mapping.yaml');
  writeFileSync(path, text);
  return loadMapping(path, base);
}
const places = (text: string, base?: Parameters<typeof loadMapping>[1]) =>
  load(text, base).findings.map(({ code, line, column, found }) => `${line}:${column} ${code} ${found}`);

const whole = `name: Two logs
time base: {kind: since power-up, epoch: "2026-11-25T10:00:00Z", offset: 20 ms}
files:
  - file: a.csv
    group: air
    stale after: 2 s
    time: {column: t, unit: us}
    delimiter: ";"
    decimal: ","
    columns:
      - {column: p, id: P, name: Pressure, unit: hPa, range: ["100 Pa", 1100], decimals: 1}
      - {column: s, id: S, name: Switch, unit: "1", format: u8, calibration: {states: {0: up, 1: down}}}
  - file: b.csv
    group: body
    time: {column: when, text: ISO 8601, zone: "+01:00"}
    missing: ["-"]
    columns: [{column: q, id: Q, name: Rate, unit: deg/s}]
derived:
  - {id: P_PA, name: Pressure, unit: Pa, driven by: P, formula: "P"}
limits:
  - {id: p-low, parameter: P, below: {caution: "90000 Pa"}, persistence: 1 s, first action: say, watcher: engine, source: test}
`;

test('reads files, parameters, derived ones and limits', () => {
  const { value, findings } = load(whole);
  expect(findings).toEqual([]);
  const { mission, files, staleUnknown, source } = value as NonNullable<typeof value>;
  expect(mission.groups.map(({ id, rate }) => [id, rate])).toEqual([
    ['air', 0],
    ['body', 0],
  ]);
  expect(mission.groups[0]?.staleAfter).toBe(2 * SECOND);
  expect(staleUnknown).toEqual(['body']);
  expect(mission.parameters).toMatchObject([
    { id: 'P', group: 'air', unit: 'hPa', format: 'f64', physicalRange: [1, 1100], decimals: 1 },
    { id: 'S', group: 'air', format: 'u8', calibration: { kind: 'states' } },
    { id: 'Q', group: 'body', format: 'f64', calibration: { kind: 'polynomial', coefficients: [0, 1] } },
  ]);
  expect(mission.limits).toMatchObject([{ id: 'p-low', below: { caution: 900 }, persistence: SECOND }]);
  expect(mission.derived).toMatchObject([{ id: 'P_PA', drivenBy: 'P', place: { line: 19 } }]);
  const base = isoMicroseconds('2026-11-25T10:00:00Z') + 20_000;
  expect(files).toMatchObject([
    {
      name: 'a.csv',
      group: 'air',
      time: { column: 't', kind: 'number', unit: 1, base },
      timePlace: { line: 7 },
      delimiter: ';',
      decimal: ',',
      missing: ['', 'nan', 'NaN'],
      columns: [
        { column: 'p', parameter: 'P', format: 'f64', place: { line: 11 } },
        { parameter: 'S', format: 'u8' },
      ],
    },
    { time: { column: 'when', kind: 'iso', zone: '+01:00' }, missing: ['-'], delimiter: ',' },
  ]);
  expect(source).toEqual({ name: 'mapping.yaml', text: whole });
});

test('tells all that is wrong at once, each with its line and column', () => {
  const text = `name: Bad
time base: {kind: since power-up}
files:
  - file: a.csv
    group: air
    time: {column: t, unit: us, text: ISO 8601}
    delimiter: "."
    columns:
      - {column: p, id: P, name: Pressure, unit: hPaa}
      - {column: q, id: P, name: Again, unit: Pa}
  - file: b.csv
    group: air
    time: {column: t, unit: hours}
    columns: []
derived:
  - {id: D, name: D, unit: m, driven by: NONE, formula: "P"}
limits:
  - {id: l, parameter: X, above: {caution: 1}, first action: say, watcher: engine, source: test}
colour: red
`;
  expect(places(text).sort()).toEqual(
    [
      '2:12 wrong-shape no epoch',
      '6:23 wrong-shape unit',
      '7:16 bad-value "."',
      '9:50 unknown-unit "hPaa"',
      '10:25 duplicate-name "P"',
      '11:5 duplicate-name "air"',
      '13:29 wrong-shape "hours"',
      '14:14 bad-value a list of 0',
      '16:42 unknown-name "NONE"',
      '18:24 unknown-name "X"',
      '19:1 wrong-shape "colour"',
    ].sort(),
  );
});

test('a mapping for a file with its own columns adds formulas and limits to them', () => {
  const base = {
    groups: [timedGroup('fix', SECOND)],
    parameters: [plainParameter('PRESSURE_ALT', 'Pressure altitude', 'm', 'fix')],
  };
  const text = `name: With formulas
derived: [{id: ALT_FT, name: Altitude, unit: ft, driven by: PRESSURE_ALT, formula: PRESSURE_ALT}]
limits:
  - {id: high, parameter: PRESSURE_ALT, above: {caution: 10000 ft}, first action: say, watcher: engine, source: test}
`;
  const { value } = load(text, base);
  expect(value?.mission.groups).toEqual(base.groups);
  expect(value?.mission.limits).toMatchObject([{ above: { caution: 3048 } }]);
  expect(places(`${text}files: []\n`, base)).toEqual(['5:1 mapping-unusable files']);
  expect(places(text)).toContain('1:1 wrong-shape no files');
});

test('a mapping that is not there is a finding', () => {
  expect(loadMapping('/none/mapping.yaml').findings).toMatchObject([{ code: 'file-missing' }]);
});
