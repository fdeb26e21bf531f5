import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { missionFolder } from '../../test/support/mission-folder.ts';
import { loadMission } from './load.ts';

const good = `cards:
  - id: level
    title: Level flight
    points:
      - id: level-60
        title: Level flight at 60 kt
        configuration:
          - {text: On skids, when: SKID}
          - {text: Fast rotor, when: "NR > 90[%]"}
        tolerance: [{parameter: IAS, target: 30 m/s, within: 3}]
        dwell: 3 s
        data: [{parameter: NR, target: 100, below: 2, above: 1.5 %}]
        may be outside: 5 %
        hold: 1500 ms
        manoeuvre: Hands steady
        record from: manoeuvre
        recover: Slow down
        stops: [nr-low]
        required: [IAS, NR]
        dropout: 200 ms
        repeat: Once
        predicted:
          - {parameter: OAT, statistic: mean, value: 68 degF, scatter: 1.8 degF}
          - {parameter: OAT, statistic: slope, value: 1.8 degF/s, scatter: 0.5}
      - id: level-70
        title: Level flight at 70 kt
        parent: level-60
        tolerance: [{parameter: IAS, target: 70, within: 3}]
        dwell: 0
        data: [{parameter: IAS, target: 70, within: 3}]
        hold: 10 s
        manoeuvre: Hands steady
        recover: Slow down
        stops: [nr-low]
        required: [IAS]
        repeat: Once
`;

const load = (cards: string) => loadMission(missionFolder({ 'cards.yaml': cards }));

describe('the cards of cards.yaml', () => {
  it('become points in the units of their parameters, with one hidden parameter for each formula', () => {
    const { value, findings } = load(good);
    expect(findings).toEqual([]);
    const [card] = value?.mission.cards ?? [];
    expect(card).toMatchObject({ id: 'level', title: 'Level flight' });
    const [first, second] = card?.points ?? [];
    expect(first).toEqual({
      ...{ id: 'level-60', title: 'Level flight at 60 kt', card: 'level' },
      configuration: [
        { text: 'On skids', when: 'SKID' },
        { text: 'Fast rotor', when: 'level-60.configuration.2' },
      ],
      tolerance: [{ parameter: 'IAS', target: expect.closeTo(58.3153, 4), below: 3, above: 3 }],
      dwell: 3_000_000,
      data: [{ parameter: 'NR', target: 100, below: 2, above: 1.5 }],
      ...{ mayBeOutside: 0.05, hold: 1_500_000, manoeuvre: 'Hands steady', recordFrom: 'manoeuvre' },
      ...{ recover: 'Slow down', stops: ['nr-low'], required: ['IAS', 'NR'], dropout: 200_000, repeatRule: 'Once' },
      predicted: [
        { parameter: 'OAT', statistic: 'mean', value: expect.closeTo(20, 9), scatter: expect.closeTo(1, 9) },
        { parameter: 'OAT', statistic: 'slope', value: expect.closeTo(1, 9), scatter: 0.5 },
      ],
      place: { file: 'cards.yaml', line: 5, column: 9 },
    });
    expect(second).toMatchObject({
      parent: 'level-60',
      mayBeOutside: 0,
      dropout: 0,
      recordFrom: 'on condition',
      dwell: 0,
    });
    expect(value?.mission.derived.find(({ id }) => id === 'level-60.configuration.2')).toMatchObject({
      formula: 'NR > 90[%]',
      condition: true,
      drivenBy: 'main',
    });
  });

  it('may be absent, and change the baseline where they are there', () => {
    const without = loadMission(missionFolder()).value?.mission;
    expect(without?.cards).toBeUndefined();
    expect(load(good).value?.mission.baselineId).not.toBe(without?.baselineId);
    const moved = load(`# a comment\n${good}`).value?.mission;
    expect(moved?.baselineId).toBe(load(good).value?.mission.baselineId);
  });

  it('cut or changed anywhere are a mission or findings, never an exception', () => {
    fc.assert(
      fc.property(fc.nat(good.length), fc.nat(good.length), fc.string({ maxLength: 3 }), (at, length, text) => {
        const { value, findings } = load(good.slice(0, at) + text + good.slice(at + (length % 9)));
        expect(value === undefined).toBe(findings.length > 0);
      }),
      { seed: 20261125, numRuns: 150 },
    );
  });

  it('do not tell again what is wrong with a parameter where that is declared', () => {
    const { findings } = loadMission(
      missionFolder({
        'cards.yaml': good,
        'derived.yaml': 'derived:\n  - {id: SLOW, name: Slow, unit: knots, driven by: IAS, formula: IAS}\n',
      }),
    );
    expect(findings.map(({ code }) => code)).toEqual(['unknown-unit']);
    const onBroken = good.replace('[{parameter: IAS, target: 30 m/s', '[{parameter: SLOW, target: 30');
    const both = loadMission(
      missionFolder({
        'cards.yaml': onBroken,
        'derived.yaml': 'derived:\n  - {id: SLOW, name: Slow, unit: knots, driven by: IAS, formula: IAS}\n',
      }),
    );
    expect(both.findings.map(({ code }) => code)).toEqual(['unknown-unit']);
  });
});
