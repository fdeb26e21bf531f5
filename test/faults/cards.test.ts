/** Cards with 24 faults, one in each point: the command lists these and nothing else, each where it stands. */
import { describe, expect, it } from 'vitest';
import { expectFaults, type Seeded } from '../support/faulty-folder.ts';

const seeded: Seeded[] = [
  ['a point given twice', 'cards.yaml:17:13', 'duplicate-name', 'whole'],
  ['a parent that is none', 'cards.yaml:39:17', 'unknown-name', 'hole'],
  ['a build-up in a circle', 'cards.yaml:51:17', 'build-up-cycle', 'circle-b'],
  ['a fifth stop criterion for one watcher', 'cards.yaml:84:41', 'watch-overload', 'nr-5]'],
  ['a stop criterion that asks for no call', 'cards.yaml:95:17', 'bad-value', 'nr-advice]'],
  ['a stop criterion that is none', 'cards.yaml:106:17', 'unknown-name', 'nr-9]'],
  ['a misspelt parameter', 'cards.yaml:111:34', 'unknown-name', 'ISA, target: 8'],
  ['a speed in metres', 'cards.yaml:122:47', 'unit-clash', '80 m, within:'],
  ['a band with one side', 'cards.yaml:133:21', 'wrong-shape', '{ parameter: I'],
  ['a band said in two ways', 'cards.yaml:144:62', 'wrong-shape', 'above: 4 }]'],
  ['a band of no width', 'cards.yaml:155:21', 'bad-value', '{ parameter: I'],
  ['a band of less than nothing', 'cards.yaml:168:54', 'bad-value', '-1 }]'],
  ['a target that is not physical', 'cards.yaml:177:47', 'bad-value', '250, within: 3'],
  ['two bands on one parameter', 'cards.yaml:188:77', 'duplicate-name', 'IAS, target: 8'],
  ['a speed as a setting', 'cards.yaml:208:45', 'unit-clash', 'IAS }]'],
  ['a misspelt name in a setting', 'cards.yaml:220:63', 'unknown-name', 'd NT > 90[%]"'],
  ['a hold without its unit', 'cards.yaml:226:15', 'wrong-shape', '10'],
  ['a record that may all be outside', 'cards.yaml:243:25', 'bad-value', '100 %'],
  ['a dropout longer than the record', 'cards.yaml:255:18', 'bad-value', '11 s'],
  ['a required parameter that is none', 'cards.yaml:265:20', 'unknown-name', 'TOT]'],
  ['a family that is none', 'cards.yaml:278:17', 'unknown-name', 'level'],
  ['a step of no family', 'cards.yaml:290:9', 'wrong-shape', 'step: 80'],
  ['a slope of a temperature that is a temperature', 'cards.yaml:302:64', 'unit-clash', '1 degC, scatte'],
  ['no state to recover to', 'cards.yaml:303:9', 'wrong-shape', 'id: no-recover'],
];

describe('groundchase check on cards with faults', () => {
  it('lists exactly the 24, each with its line and column, and what stands there', async () => {
    expect(seeded).toHaveLength(24);
    await expectFaults('cards', seeded);
  });
});
