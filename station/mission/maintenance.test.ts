/** The table of maintenance.yaml: what is read of it, and what is wrong with it, each where it stands. */
import { readFileSync } from 'node:fs';
import { expect, it } from 'vitest';
import { missionFolder } from '../../test/support/mission-folder.ts';
import { loadMission } from './load.ts';

const row = `maintenance:
  - id: overspeed
    text: Rotor overspeed
    parameter: NR
    above:
      - {value: 105, in all: 60 s, action: Enter it}
      - {value: 107 %, for: 1 s, action: Look at the roots}
      - {value: 107, for: 2500 ms, action: Look closer}
      - {value: 110, action: Remove it}
    source: manual, section 62
`;

const load = (text: string, more: Record<string, string> = {}) =>
  loadMission(missionFolder({ 'maintenance.yaml': text, ...more }));

const findings = (text: string, more: Record<string, string> = {}) =>
  load(text, more).findings.map(({ code, line, column, found }) => `${line}:${column} ${code}: ${found}`);

it('a table is read in the units of its parameters', () => {
  const { value, findings: none } = load(row);
  expect(none).toEqual([]);
  expect(value?.mission.maintenance).toMatchObject([
    {
      id: 'overspeed',
      side: 'above',
      parameter: 'NR',
      bands: [
        { value: 105, seconds: 60, cumulative: true, action: 'Enter it' },
        { value: 107, seconds: 1, cumulative: false },
        { value: 107, seconds: 2.5, cumulative: false },
        { value: 110, seconds: 0, cumulative: false },
      ],
    },
  ]);
});

it('the table is part of the baseline, and a mission may have none', () => {
  const without = loadMission(missionFolder()).value?.mission;
  expect(without?.maintenance).toBeUndefined();
  expect(load(row).value?.mission.baselineId).not.toBe(without?.baselineId);
});

it('values are converted from their own unit', () => {
  const text = row
    .replaceAll('NR', 'IAS')
    .replace('105,', '50 m/s,')
    .replaceAll('107 %', '107')
    .replace('110,', '200,');
  const band = load(text).value?.mission.maintenance?.[0]?.bands[0]?.value;
  expect(band).toBeCloseTo(50 / (1852 / 3600), 9);
});

it.each([
  ['parameter: NR', 'parameter: NRR', '4:16 unknown-name: "NRR"'],
  ['value: 105', 'value: 105 kt', '6:17 unit-clash: "105 kt" (speed)'],
  ['value: 110', 'value: 140', '9:17 bad-value: above 140'],
  ['value: 110', 'value: 104', '9:17 limit-order: 104 after 107'],
  ['for: 2500 ms', 'for: 1 s', '8:17 limit-order: 1 s after 1 s'],
  ['in all: 60 s', 'in all: 60 kt', '6:30 unit-clash: "60 kt" (speed)'],
  ['in all: 60 s', 'in all: 60 s, for: 1 s', '6:22 wrong-shape: for and in all'],
  ['    above:\n', '    over:\n', '5:5 wrong-shape: "over"'],
  ['    source: manual', '    phases: [hover]\n    source: manual', '10:14 unknown-name: phase hover'],
])('%s as %s is a finding where it stands', (what, instead, expected) => {
  expect(findings(row.replace(what, instead))).toContain(expected);
});

it('two rows of one id are a finding', () => {
  const twice = row + row.slice(row.indexOf('\n') + 1);
  expect(findings(twice)).toEqual(['11:9 duplicate-name: "overspeed"']);
});

it('a row with neither side, or with both, is a finding', () => {
  const neither = row.replace(/ {4}above:\n( {6}- .*\n)+/, '');
  expect(findings(neither)).toEqual(['2:5 wrong-shape: neither above nor below']);
  const both = row.replace('    source', '    below:\n      - {value: 10, action: Look}\n    source');
  expect(findings(both)).toEqual(['10:5 wrong-shape: above and below']);
});

it('the demonstration has at least five bands for the engine', () => {
  const text = readFileSync(new URL('../../replay/rehearsal/mission/maintenance.yaml', import.meta.url), 'utf8');
  const engine = text.slice(text.indexOf('over-temperature-start'), text.indexOf('over-torque'));
  expect(engine.match(/value:/g)?.length).toBeGreaterThanOrEqual(5);
});
