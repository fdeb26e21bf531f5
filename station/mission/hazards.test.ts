import { describe, expect, it } from 'vitest';
import { goodFiles, type MissionFiles, missionFolder } from '../../test/support/mission-folder.ts';
import { loadMission } from './load.ts';

const people = `people:
  - {id: td, name: Ines Arkwright, position: test director}
  - {id: rl, name: Maren Quillfeather, position: rotor and loads}
`;
const held = goodFiles['mission.yaml'].replace(/people:\n(  .*\n)+/, people);

const hazard = (controls: string, more = 'severity: critical, owner: test director') => `hazards:
  - {id: decay, title: Rotor speed decays, ${more}, mitigations: [{id: watched, text: It is watched, ${controls}}]}
`;

const cards = `cards:
  - id: card
    title: Level flight
    points:
      - {id: L75, title: Level flight, dwell: 3 s, hold: 20 s, manoeuvre: steady, recover: slow down, repeat: once,
         tolerance: [{parameter: IAS, target: 75, within: 2}], data: [{parameter: IAS, target: 75, within: 3}],
         stops: [nr-low], required: [NR]}
`;

const told = (files: MissionFiles): string[] =>
  loadMission(missionFolder({ 'mission.yaml': held, ...files })).findings.map(({ code, found }) => `${code}: ${found}`);

describe('hazards.yaml', () => {
  it('is read with every control', () => {
    const text = hazard('limits: [nr-low], procedure: "manual, section 3"');
    const { value, findings } = loadMission(missionFolder({ 'mission.yaml': held, 'hazards.yaml': text }));
    expect(findings).toEqual([]);
    expect(value?.mission.hazards).toMatchObject([
      {
        ...{ id: 'decay', title: 'Rotor speed decays', severity: 'critical', owner: 'test director' },
        mitigations: [{ id: 'watched', limits: ['nr-low'], checklists: [], cards: [], procedure: 'manual, section 3' }],
        place: { line: 2 },
      },
    ]);
  });

  it('asks for nothing where it is not there, and for every control where it is empty', () => {
    expect(told({})).toEqual([]);
    expect(told({ 'hazards.yaml': 'hazards: []' })).toEqual([
      'orphan-control: limit nr-low, which no mitigation names',
    ]);
  });

  it('takes the stop criteria of a card as watching a grave hazard, but not as naming the limit', () => {
    expect(told({ 'hazards.yaml': hazard('cards: [card]'), 'cards.yaml': cards })).toEqual([
      'orphan-control: limit nr-low, which no mitigation names',
    ]);
    expect(told({ 'hazards.yaml': hazard('limits: [ias-high]') })).toContain(
      'hazard-uncontrolled: hazard decay, critical, that no limit watches',
    );
    // of a marginal one nobody asks that
    const marginal = hazard('limits: [ias-high], procedure: briefed', 'severity: marginal, owner: test director');
    expect(told({ 'hazards.yaml': marginal })).not.toContainEqual(expect.stringContaining('hazard-uncontrolled'));
  });

  it('tells nothing that follows from another mistake', () => {
    // what the file means is not known: no control is called an orphan
    expect(told({ 'hazards.yaml': hazard('limits: [nr-low]', 'severity: bad, owner: test director') })).toEqual([
      'wrong-shape: "bad"',
    ]);
    // who sits where is not known
    const nobody = held.replace('stream: SMALL\n', '');
    expect(told({ 'mission.yaml': nobody, 'hazards.yaml': hazard('limits: [nr-low]') })).toEqual([
      'wrong-shape: no stream',
    ]);
    // the limit is there, though it is not whole
    const broken = goodFiles['limits.yaml'].replace('caution: 97', 'caution: 97 furlong');
    expect(told({ 'limits.yaml': broken, 'hazards.yaml': hazard('limits: [nr-low]') })).not.toContainEqual(
      expect.stringContaining('unknown-name'),
    );
  });

  it('tells who is missing: the owner, and the watcher of a limit', () => {
    expect(told({ 'hazards.yaml': hazard('limits: [nr-low]', 'severity: critical, owner: engine') })).toEqual([
      'control-unwatched: engine, which nobody is',
    ]);
    const files = { 'mission.yaml': goodFiles['mission.yaml'], 'hazards.yaml': hazard('limits: [nr-low]') };
    expect(told(files)).toEqual(['control-unwatched: "nr-low", watched from rotor and loads, which nobody is']);
  });
});
