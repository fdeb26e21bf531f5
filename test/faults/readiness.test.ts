/** A mission whose readiness.yaml has a fault of each kind: the command lists these, each where it stands. */
import { it } from 'vitest';
import { expectFaults, type Seeded } from '../support/faulty-folder.ts';

const seeded: Seeded[] = [
  ['a notice of the same id as another', 'readiness.yaml:3:11', 'duplicate-name', 'gains, title: Flow'],
  ['a stop limit that no row names', 'readiness.yaml:4:1', 'stop-unwatched', 'watch:'],
  ['a fifth limit to watch', 'readiness.yaml:5:55', 'watch-overload', 'e]'],
  ['a position that nobody holds', 'readiness.yaml:6:17', 'bad-value', 'engine'],
  ['a limit that is none', 'readiness.yaml:7:41', 'unknown-name', 'fe'],
  ['a limit that another position watches', 'readiness.yaml:7:45', 'duplicate-name', 'a]'],
  ['a position that is none', 'readiness.yaml:8:17', 'wrong-shape', 'test directer'],
  ['a mass in knots', 'readiness.yaml:11:48', 'unit-clash', '1370 kt'],
  ['a mass below nothing', 'readiness.yaml:12:39', 'bad-value', '-85 kg'],
  ['a tank of the same id as a load', 'readiness.yaml:14:13', 'duplicate-name', 'empty'],
  ['a tank gauged in per cent', 'readiness.yaml:15:45', 'unit-clash', 'NR'],
  ['a gauge that is none', 'readiness.yaml:16:47', 'unknown-name', 'FUAL'],
  ['an envelope of two corners', 'readiness.yaml:17:13', 'bad-value', '[[2.4 m'],
  ['a baseline id that is none', 'readiness.yaml:22:18', 'bad-value', '1d'],
  ['a misspelt value of a release', 'readiness.yaml:23:20', 'wrong-shape', 'abov caution'],
];

it('groundchase check lists what is wrong with readiness.yaml, each with its line and column', () =>
  expectFaults('readiness', seeded));
