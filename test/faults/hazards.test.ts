/** A mission whose hazards hang loose in every way: the command lists these faults, each where it stands, and no other. */
import { describe, it } from 'vitest';
import { expectFaults, type Seeded } from '../support/faulty-folder.ts';

const seeded: Seeded[] = [
  ['a stop that is a control of nothing', 'limits.yaml:16:9', 'orphan-control', 'nr-stop'],
  ['a misspelt limit', 'hazards.yaml:7:71', 'unknown-name', 'nr-lo,'],
  ['a limit named twice', 'hazards.yaml:7:78', 'duplicate-name', 'nr-low]'],
  ['a mitigation that is only said', 'hazards.yaml:8:9', 'mitigation-uncontrolled', '{ id: briefed'],
  ['two mitigations of one name', 'hazards.yaml:9:15', 'duplicate-name', 'watched,'],
  ['an owner that nobody is', 'hazards.yaml:13:12', 'control-unwatched', 'rotor and loads'],
  ['a limit watched from an empty seat', 'hazards.yaml:15:68', 'control-unwatched', 'nr-high]'],
  ['a misspelt checklist', 'hazards.yaml:15:91', 'unknown-name', 'lost-voce]'],
  ['a card that is none', 'hazards.yaml:15:111', 'unknown-name', 'card-1]'],
  ['a hazard that nothing is done about', 'hazards.yaml:20:18', 'hazard-unmitigated', '[]'],
  ['a critical hazard with a caution alone', 'hazards.yaml:23:15', 'hazard-uncontrolled', 'critical'],
  ['two hazards of one name', 'hazards.yaml:27:9', 'duplicate-name', 'silence'],
];

describe('groundchase check on hazards that hang loose', () => {
  it('lists exactly what is loose, each with its line and column, and what stands there', () =>
    expectFaults('hazards', seeded));
});
