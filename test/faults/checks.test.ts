/** A mission whose morning check and control sweep have a fault of each kind: the command lists these, each where it stands. */
import { it } from 'vitest';
import { expectFaults, type Seeded } from '../support/faulty-folder.ts';

const seeded: Seeded[] = [
  ['too short a gather', 'readiness.yaml:2:11', 'bad-value', '0.1 s'],
  ['a misspelt key', 'readiness.yaml:3:3', 'wrong-shape', 'settel: 1 s', 'did you mean settle?'],
  ['a share above the whole', 'readiness.yaml:4:19', 'bad-value', '140 %'],
  ['a time without its unit', 'readiness.yaml:5:16', 'wrong-shape', '5'],
  ['no days at all', 'readiness.yaml:7:21', 'bad-value', '0'],
  ['a tolerance of nothing', 'readiness.yaml:9:42', 'bad-value', '0 N, noise:'],
  ['a channel given twice', 'readiness.yaml:10:20', 'duplicate-name', 'LINK, zero t'],
  ['a shunt without tolerance', 'readiness.yaml:11:7', 'wrong-shape', '{ parameter:'],
  ['a least noise above the most', 'readiness.yaml:11:57', 'limit-order', '[12 N m, 2 N'],
  ['a tolerance in another unit', 'readiness.yaml:12:42', 'unit-clash', '20 N, noise:'],
  ['a tolerance without shunt', 'readiness.yaml:12:89', 'wrong-shape', '5 N m, count'],
  ['counts of a shunt that is none', 'readiness.yaml:12:122', 'wrong-shape', '0 } }'],
  ['counts of no step', 'readiness.yaml:12:122', 'bad-value', '0 } }'],
  ['a tolerance wider than half of the step', 'readiness.yaml:13:95', 'bad-value', '6 %, counts:'],
  ['counts that are no number', 'readiness.yaml:13:116', 'wrong-shape', 'low } }'],
  ['a channel that is none', 'readiness.yaml:14:20', 'unknown-name', 'POSB, zero t', 'did you mean POS_B?'],
  ['a discrete as channel', 'readiness.yaml:15:20', 'bad-value', 'SKID, zero t'],
  ['a least travel of nothing', 'readiness.yaml:17:11', 'bad-value', '0 %'],
  ['tracking as a speed', 'readiness.yaml:18:13', 'unit-clash', '4 kt'],
  ['a delay longer than is looked for', 'readiness.yaml:19:10', 'bad-value', '2 s'],
  ['a command that is none', 'readiness.yaml:21:36', 'unknown-name', 'CDM, rig: [1', 'did you mean CMD?'],
  ['rig ends the wrong way round', 'readiness.yaml:21:46', 'limit-order', '[100 %, 0 %]'],
  ['a position given twice', 'readiness.yaml:22:20', 'duplicate-name', 'POS_A, comma'],
  ['a channel in another unit', 'readiness.yaml:22:78', 'unit-clash', 'POS_C, POS_D'],
  ['a channel sampled at other times', 'readiness.yaml:22:85', 'bad-value', 'POS_D, POS_A'],
  ['a position compared with itself', 'readiness.yaml:22:92', 'duplicate-name', 'POS_A] }'],
  ['one rig end', 'readiness.yaml:23:32', 'bad-value', '[0 %] }'],
];

it('groundchase check lists what is wrong with the checks before a flight, each with its line and column', () =>
  expectFaults('checks', seeded));
