import { describe, expect, it } from 'vitest';
import type { Finding } from '../../protocol/finding.ts';
import { missionFolder } from '../../test/support/mission-folder.ts';
import { loadMission } from './load.ts';

const pointText = (id: string, step: string, knots: number) =>
  `{id: ${id}, title: Level flight, family: level, step: ${step}, dwell: 3 s, hold: 20 s, manoeuvre: steady,
        tolerance: [{parameter: IAS, target: ${knots}, within: 2}], data: [{parameter: IAS, target: ${knots}, within: 3}],
        recover: slow down, stops: [nr-low], required: [NR], repeat: once}`;

const good = `families:
  - id: level
    title: Level flight
    of: airspeed
    unit: kt
    increment: 2
    reserve: [75 kt]
    measures:
      - {id: turns, title: Rotor speed, parameter: NR, statistic: min, side: below, limit: nr-low, scatter: 0.5}
      - {id: speed, title: Airspeed, parameter: IAS, statistic: slope, side: above, caution: 1 m/s^2, scatter: 0.1}
    flown:
      - {step: 30.866666666666667 m/s, source: "Flight 3, card 2", values: {turns: 98.5, speed: 0.2}}
      - {step: 70, source: "Flight 3, card 2", values: {turns: 98}}
anomalies:
  - {text: a rattle behind the mast, source: Flight 3}
cards:
  - id: card
    title: Level flight
    points:
      - ${pointText('L75', '75', 75)}
      - ${pointText('L80', '41.155555555555556 m/s', 80)}
`;

const findings = (text: string) =>
  loadMission(missionFolder({ 'cards.yaml': text })).findings.map(
    ({ code, line, column, found, expected }: Finding) => ({
      ...{ line, column },
      words: `${code}: ${found}; ${expected}`,
    }),
  );

const one = 'one of them: a value, or the limit that has it';

describe('families in cards.yaml', () => {
  it('are read in the units of their parameters, with the caution of a limit', () => {
    const { value, findings: none } = loadMission(missionFolder({ 'cards.yaml': good }));
    expect(none).toEqual([]);
    const [family] = value?.mission.families ?? [];
    expect(family).toMatchObject({ id: 'level', unit: 'kt', increment: 2, reserve: [75] });
    expect(family?.measures[0]).toEqual({
      ...{ id: 'turns', title: 'Rotor speed', parameter: 'NR', statistic: 'min', unit: '%', side: 'below' },
      ...{ caution: 97, limit: 'nr-low', scatter: 0.5 },
    });
    expect(family?.measures[1]?.unit).toBe('kt/s');
    expect(family?.measures[1]?.caution).toBeCloseTo(3600 / 1852, 9);
    expect(family?.flown[0]?.step).toBeCloseTo(60, 9);
    expect(family?.flown[0]?.values).toEqual({ turns: 98.5, speed: 0.2 });
    expect(value?.mission.anomalies).toEqual([{ text: 'a rattle behind the mast', source: 'Flight 3' }]);
    expect(value?.mission.cards?.[0]?.points.map(({ step }) => step)).toEqual([75, expect.closeTo(80, 9)]);
  });

  it.each([
    ['a unit that is none', 'unit: kt', 'unit: kts', 'kts', 'unknown-unit: "kts"; a unit of the unit table'],
    ['an increment of nothing', 'increment: 2', 'increment: 0', '0\n', 'bad-value: 0; more than 0'],
    [
      'an increment of length',
      'increment: 2',
      'increment: 2 ft',
      '2 ft',
      'unit-clash: "2 ft" (length); speed, like kt',
    ],
    ['a reserve of no point', '[75 kt]', '[76 kt]', '76 kt', 'bad-value: "76 kt"; the step of a point of the family'],
    ['no parameter', 'parameter: NR,', 'parameter: NQ,', 'NQ', 'unknown-name: "NQ"; the name of a parameter'],
    ['a limit that is none', 'limit: nr-low', 'limit: nr-lo', 'nr-lo', 'unknown-name: "nr-lo"; the name of a limit'],
    ['another unit', 'limit: nr-low', 'limit: ias-high', 'ias-high', 'unit-clash: "ias-high", in kt; a limit in %'],
    ['another side', 'below', 'above', 'nr-low', 'bad-value: "nr-low"; a limit with a caution above a value'],
    ['no caution', ', limit: nr-low', '', '{id: turns', `wrong-shape: neither caution nor limit; ${one}`],
    ['two cautions', 'm/s^2', 'm/s^2, limit: nr-low', '{id: speed', `wrong-shape: both caution and limit; ${one}`],
    ['a scatter of nothing', 'scatter: 0.5}', 'scatter: 0}', '0}', 'bad-value: 0; more than 0'],
    [
      'a measure twice',
      'id: speed',
      'id: turns',
      'turns, title: A',
      'duplicate-name: "turns"; a measure of another name',
    ],
    ['no measure', 'turns: 98}', 'turn: 98}', '98}', 'unknown-name: "turn"; the name of a measure of the family'],
    ['a step without values', '{turns: 98}', '{}', '{}', 'bad-value: no values; at least one'],
    ['an anomaly without source', ', source: Flight 3}', '}', '{text', 'wrong-shape: no source; source: text'],
  ])('tell %s where it stands', (_, from, to, at, expected) => {
    const text = good.replace(from, to);
    const told = findings(text);
    expect(told.map(({ words }) => words)).toContain(expected);
    // a measure that is not known by its name makes its values unknown too
    expect(told.filter(({ words }) => words !== expected && !/"speed"; the name of a measure/.test(words))).toEqual([]);
    const { line, column } = told.find(({ words }) => words === expected) as (typeof told)[number];
    expect(
      (
        text
          .split('\n')
          .slice(line - 1)
          .join('\n') as string
      )
        .slice(column - 1)
        .startsWith(at),
    ).toBe(true);
  });

  it('tell a family that is declared twice', () => {
    const twice = good.replace(
      'anomalies:',
      `${good.slice(good.indexOf('  - id: level'), good.indexOf('anomalies:'))}anomalies:`,
    );
    expect(findings(twice)).toMatchObject([
      { line: 14, column: 9, words: 'duplicate-name: "level"; a family of another name' },
    ]);
  });
});
