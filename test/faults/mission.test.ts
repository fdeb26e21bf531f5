/** A mission folder with 25 faults, a kind each: the command lists these, and nothing else, each where it stands. */
import { describe, expect, it } from 'vitest';
import { expectFaults, type Seeded } from '../support/faulty-folder.ts';

const seeded: Seeded[] = [
  ['a key that is missing', 'mission.yaml:5:3', 'wrong-shape', 'name: Small one'],
  ['a position that is none', 'mission.yaml:12:15', 'wrong-shape', 'test directer', 'did you mean test director?'],
  ['a word briefed for both classes', 'mission.yaml:15:24', 'duplicate-name', 'Knock  it off]'],
  ['a time of nothing', 'parameters.yaml:5:18', 'bad-value', '0 s'],
  ['a calibration without date under a limit', 'parameters.yaml:13:7', 'calibration-untraced', 'polynomial: [0, 0.01]'],
  ['a unit that is none', 'parameters.yaml:16:48', 'unknown-unit', 'kts,', 'did you mean kt?'],
  ['a rate group that is none', 'parameters.yaml:17:58', 'unknown-name', 'mian,', 'did you mean main?'],
  ['a table whose counts do not rise', 'parameters.yaml:24:7', 'calibration-unusable', 'table: [[0, -50]'],
  ['infinity as the end of a range', 'parameters.yaml:32:16', 'wrong-shape', '.inf]'],
  ['a name that is built in', 'parameters.yaml:33:9', 'bad-value', 'constructor'],
  ['a day that never was', 'parameters.yaml:43:70', 'bad-value', '2026-02-30'],
  ['a key that is none', 'parameters.yaml:44:79', 'wrong-shape', 'colour: red'],
  [
    'a name given twice',
    'parameters.yaml:46:11',
    'duplicate-name',
    'TOT,',
    'the first one is in parameters.yaml, line 45',
  ],
  ['a formula that breaks off', 'derived.yaml:2:84', 'formula-syntax', '" }'],
  ['degrees and metres added', 'derived.yaml:9:9', 'unit-clash', '+ 10[m]'],
  ['a misspelt name in a formula', 'derived.yaml:10:74', 'unknown-name', 'PICTH', 'did you mean PITCH?'],
  ['one argument too many', 'derived.yaml:11:70', 'formula-arguments', 'wrap(HDG'],
  ['formulas in a circle', 'derived.yaml:13:67', 'formula-cycle', 'D5 - PITCH'],
  ['a division by zero', 'derived.yaml:14:88', 'formula-undefined', '/ (2 - 2)'],
  ['a quote that never ends', 'tables.yaml:3:11', 'yaml-syntax', '"a quote that never ends'],
  ['a limit on a parameter that is none', 'limits.yaml:2:26', 'unknown-name', 'PICH,', 'did you mean PITCH?'],
  ['a warning before its caution', 'limits.yaml:5:12', 'limit-order', '{ caution: 20, warning: 15 }'],
  ['a limit that is no number', 'limits.yaml:13:16', 'wrong-shape', '.nan'],
  ['a limit in a unit of another dimension', 'limits.yaml:17:49', 'unit-clash', '800 kt'],
  ['a page that shows a parameter that is none', 'pages.yaml:7:54', 'unknown-name', 'HGD] }', 'did you mean HDG?'],
];

describe('groundchase check on a folder with 25 seeded faults', () => {
  it('lists exactly those 25, each with its line and column, what stands there and the nearest known name', async () => {
    expect(seeded).toHaveLength(25);
    await expectFaults('mission', seeded);
  });
});
