import { parse } from 'yaml';
import { describe, expect, it } from 'vitest';
import type { Finding } from '../../protocol/finding.ts';
import { type MissionFiles, missionFolder } from '../../test/support/mission-folder.ts';
import { loadMission } from './load.ts';
import { releaseText } from './release.ts';

const parameters = `groups:
  - {id: main, rate: 10}
parameters:
  - {id: NR, name: Rotor speed, unit: "%", group: main, format: f32, range: [0, 130]}
  - {id: IAS, name: Airspeed, unit: kt, group: main, format: f32}
  - {id: SKID, name: Skid, unit: "1", group: main, format: u8, calibration: {states: {0: up, 1: down}}}
  - {id: FUEL, name: Fuel, unit: lb, group: main, format: f32}
  - {id: FLOW, name: Flow, unit: kg/h, group: main, format: f32}
`;
const pages = '';
const load = (readiness: string, more: MissionFiles = {}) =>
  loadMission(
    missionFolder({ 'parameters.yaml': parameters, 'pages.yaml': pages, 'readiness.yaml': readiness, ...more }),
  );
const plan = (readiness: string) => {
  const { value, findings } = load(readiness);
  if (!value) throw new Error(findings.map(({ found, expected }) => `${found}, expected ${expected}`).join('\n'));
  return value.mission.readiness;
};
const told = (findings: Finding[]) =>
  findings.map(
    ({ code, line, column, found, expected }) => `${line}:${column} ${code}: ${found}, expected ${expected}`,
  );

/** A whole mass and balance, in which a line may be put in place of another. */
const lines = {
  items: '[{id: empty, name: Empty aircraft, mass: 1370 kg, arm: 2.493 m}]',
  tanks: '[{id: main, name: Tank, parameter: FUEL, capacity: 150 kg, arm: 2350 mm, lateral: -1 cm}]',
  envelope: '[[2.4, 1300], [2.555, 1300], [2.555, 1650], [2.44, 1650], [2.4, 1450]]',
  lateral: '60 mm',
  planned: '[{name: Take-off, fuel: {main: 140 kg}}, {name: Landing, fuel: {main: 60}}]',
  'knock-off fuel': '60 kg',
  flow: 'FLOW',
};
const weight = (changed: Partial<Record<keyof typeof lines, string>> = {}): string =>
  `weight:\n${Object.entries({ ...lines, ...changed })
    .map(([key, text]) => `  ${key}: ${text}\n`)
    .join('')}`;
const weightFindings = (changed: Partial<Record<keyof typeof lines, string>>) => told(load(weight(changed)).findings);

describe('readiness.yaml', () => {
  it('becomes the plan, in SI units', () => {
    expect(plan(`notices: [{id: n, title: T, text: X}]\n${weight()}`)).toEqual({
      notices: [{ id: 'n', title: 'T', text: 'X', place: { file: 'readiness.yaml', line: 1, column: 11 } }],
      releases: [],
      weight: {
        items: [{ id: 'empty', name: 'Empty aircraft', massKg: 1370, armM: 2.493, lateralM: 0 }],
        tanks: [{ id: 'main', name: 'Tank', parameter: 'FUEL', capacityKg: 150, armM: 2.35, lateralM: -0.01 }],
        envelope: [
          [2.4, 1300],
          [2.555, 1300],
          [2.555, 1650],
          [2.44, 1650],
          [2.4, 1450],
        ],
        lateral: 0.06,
        planned: [
          { name: 'Take-off', tanks: { main: 140 } },
          { name: 'Landing', tanks: { main: 60 } },
        ],
        knockOffKg: 60,
        flow: 'FLOW',
      },
    });
    expect(plan('watch: [{position: test director, limits: [nr-low]}]')?.watch).toEqual([
      { position: 'test director', limits: ['nr-low'], place: { file: 'readiness.yaml', line: 1, column: 9 } },
    ]);
  });

  it('refuses a planned fuel state outside the envelope, and a way between two that leaves it', () => {
    expect(weightFindings({ envelope: '[[2.4, 1300], [2.49, 1300], [2.49, 1650], [2.4, 1450]]' })).toEqual([]);
    const inside = 'expected mass and centre of gravity inside the test envelope';
    expect(weightFindings({ envelope: '[[2.4, 1300], [2.481, 1300], [2.481, 1650], [2.4, 1450]]' })).toEqual([
      `6:20 weight-outside: Take-off to Landing: 1430 kg at 2.487 m, in the middle, ${inside}`,
      `6:60 weight-outside: Landing: 1430 kg at 2.487 m, in the middle, ${inside}`,
    ]);
  });

  it.each([
    [
      'fuel over capacity',
      { planned: '[{name: A, fuel: {main: 150.1}}]' },
      'bad-value: 150.1, expected at most 150 kg',
    ],
    ['a tank left out', { planned: '[{name: A, fuel: {}}]' }, 'bad-value: no main, expected the fuel in every tank'],
    [
      'a tank that is none',
      { planned: '[{name: A, fuel: {main: 1, man: 1}}]' },
      'bad-value: "man", expected a tank: main',
    ],
    [
      'a name given twice',
      { planned: '[{name: A, fuel: {main: 1}}, {name: A, fuel: {main: 0}}]' },
      'bad-value: "A", expected a name that no other',
    ],
    [
      'sides that cross',
      { envelope: '[[2.4, 1300], [2.6, 1650], [2.6, 1300], [2.4, 1650]]' },
      'bad-value: the side after corner 3, expected sides that do not meet; it meets the side after corner 1',
    ],
    [
      'a side that runs back',
      { envelope: '[[2.4, 1300], [2.6, 1300], [2.5, 1300], [2.5, 1650]]' },
      'bad-value: the side after corner 2, expected sides that do not meet; it meets the side after corner 1',
    ],
    ['no room sideways', { lateral: '0' }, 'bad-value: 0, expected more than 0 m'],
    ['a flow that is none', { flow: 'NR' }, 'unit-clash: NR, in %, expected a parameter in a unit like kg/s'],
    [
      'an arm of a mile',
      { items: '[{id: e, name: E, mass: 1370, arm: 1 nmi}]' },
      'bad-value: "1 nmi", expected at most 100 m',
    ],
  ] as const)('finds %s', (_, changed, expected) => {
    const findings = weightFindings(changed);
    expect(findings.join('\n')).toContain(expected);
    expect(findings).toHaveLength(1);
  });
});

describe('a release', () => {
  it('printed from a mission is read again, agrees with that mission, and does not change its baseline', () => {
    const before = load('');
    if (!before.value) throw new Error('not loaded');
    const text = releaseText(before.value.mission);
    const after = load(text);
    expect(after.findings).toEqual([]);
    expect(after.value?.mission.readiness?.releases).toEqual([
      {
        softwareId: 'S-1',
        configurationId: 'C-1',
        baselineId: before.value.mission.baselineId,
        limits: {
          'nr-low': { 'below caution': 97, 'below warning': 95, persistence: 0.5, hysteresis: 0.5 },
          'ias-high': { 'above caution': (parse(text) as never)['releases'][0]['limits']['ias-high']['above caution'] },
        },
      },
    ]);
    expect(after.value?.mission.baselineId).toBe(before.value.mission.baselineId);
  });

  it('is one for the ids of an aircraft', () => {
    const row = `  - {software id: S-1, configuration id: C-1, baseline id: ${'ab'.repeat(32)}, limits: {}}\n`;
    expect(told(load(`releases:\n${row}${row}`).findings)).toEqual([
      '3:19 duplicate-name: "S-1" with "C-1", expected one release for the ids of an aircraft',
    ]);
  });

  it('is left out of the baseline id, and what else readiness.yaml says is not', () => {
    const id = (text: string) => load(text).value?.mission.baselineId;
    expect(id(weight())).not.toBe(id(''));
    expect(id(weight({ 'knock-off fuel': '61 kg' }))).not.toBe(id(weight()));
  });
});
