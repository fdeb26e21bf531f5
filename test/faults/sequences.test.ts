/** A mission whose sequences and checklists are wrong in every way: the command lists these faults, and no other. */
import { describe, it } from 'vitest';
import { expectFaults, type Seeded } from '../support/faulty-folder.ts';

const seeded: Seeded[] = [
  ['a limit that names a sequence there is none of', 'limits.yaml:2:43', 'unknown-name', 'spol,'],
  ['a beginning in a unit of another dimension', 'sequences.yaml:4:16', 'unit-clash', '> 5[kt]'],
  ['two steps of one name', 'sequences.yaml:7:17', 'duplicate-name', 'half way'],
  ['seconds above nothing', 'sequences.yaml:9:9', 'wrong-shape', '{ title: above'],
  ['a measure of a parameter that is none', 'sequences.yaml:10:35', 'unknown-name', 'NS,'],
  ['a window too long', 'sequences.yaml:11:59', 'bad-value', '2 min'],
  ['two sequences of one name', 'sequences.yaml:12:9', 'duplicate-name', 'spool'],
  ['an end that is a speed', 'sequences.yaml:15:11', 'unit-clash', 'NR'],
  ['a time without its unit', 'sequences.yaml:16:53', 'wrong-shape', '20 }'],
  ['silence of no length', 'sequences.yaml:18:5', 'wrong-shape', '{ id: lost-link'],
  ['a cause that is none', 'sequences.yaml:19:49', 'wrong-shape', 'voice gone'],
  ['a checklist of nothing', 'sequences.yaml:19:68', 'bad-value', '[]'],
  ['a condition that breaks off', 'sequences.yaml:20:66', 'formula-syntax', '", steps'],
];

describe('groundchase check on sequences and checklists with seeded faults', () => {
  it('lists exactly those, each with its line and column, and what stands there', () =>
    expectFaults('sequences', seeded));
});
