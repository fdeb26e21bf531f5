import { describe, expect, it } from 'vitest';
import type { Hazard } from './procedure.ts';
import { asksToAct, hazardTrace } from './hazard-trace.ts';
import { cardOf, point } from '../test/support/step-family.ts';
import { levelLimit, mission, parameter } from '../test/support/tiny-mission.ts';

const hazards: Hazard[] = [
  {
    ...{ id: 'decay', title: 'Rotor speed decays', severity: 'catastrophic', owner: 'rotor and loads' },
    mitigations: [
      {
        ...{ id: 'watched', text: 'It is watched', procedure: 'manual, section 3' },
        ...{ limits: ['nr-low', 'gone'], checklists: ['lost-voice'], cards: ['level'] },
      },
      { id: 'said', text: 'It is said', procedure: '', limits: [], checklists: [], cards: [] },
    ],
  },
  { id: 'fire', title: 'Fire', severity: 'critical', owner: 'engine', mitigations: [] },
];
const of = mission({
  people: [
    { id: 'a', name: 'Maren Quillfeather', position: 'rotor and loads' },
    { id: 'b', name: 'Odo Brackenridge', position: 'rotor and loads' },
    { id: 'c', name: 'Bram Tolliver', position: 'test conductor' },
  ],
  parameters: [parameter('NR', 'main', { name: 'Rotor speed' })],
  limits: [levelLimit('nr-low', 'NR', { below: { warning: 95 }, watcher: 'engine' })],
  checklists: [{ id: 'lost-voice', title: 'Voice lost', shown: 'voice lost', steps: ['Call'] }],
  cards: [cardOf(point(80))],
  hazards,
});

describe('the hazard trace', () => {
  it('has a row for each control, with who watches it and who sits there', () => {
    const rows = hazardTrace(of).map((row) => [
      row.hazard,
      row.mitigation,
      row.control,
      row.name,
      row.watcher,
      row.people,
    ]);
    const both = ['Maren Quillfeather', 'Odo Brackenridge'];
    expect(rows).toEqual([
      ['decay', 'watched', 'limit', 'Rotor speed', 'engine', []],
      ['decay', 'watched', 'limit', 'gone', '', []],
      ['decay', 'watched', 'checklist', 'Voice lost', 'rotor and loads', both],
      ['decay', 'watched', 'card', 'Level flight', 'test conductor', ['Bram Tolliver']],
      ['decay', 'watched', 'procedure', 'manual, section 3', 'rotor and loads', both],
      ['decay', 'said', '', '', '', []],
      ['fire', '', '', '', '', []],
    ]);
    expect(hazardTrace(of)[0]).toMatchObject({
      title: 'Rotor speed decays',
      severity: 'catastrophic',
      text: 'It is watched',
    });
  });

  it('follows a watch that was handed over', () => {
    const [first] = hazardTrace(of, () => 'test conductor');
    expect(first).toMatchObject({ watcher: 'test conductor', people: ['Bram Tolliver'] });
    expect(hazardTrace(of, () => '')[0]).toMatchObject({ watcher: '', people: [] });
  });

  it('is empty without hazards', () => {
    expect(hazardTrace(mission())).toEqual([]);
  });
});

describe('a limit asks to act', () => {
  it('when it has a warning or a stop on any side, in any phase', () => {
    expect(asksToAct(levelLimit('a', 'NR', { above: { warning: 1 } }))).toBe(true);
    expect(asksToAct(levelLimit('a', 'NR', { below: { stop: 1 } }))).toBe(true);
    expect(asksToAct(levelLimit('a', 'NR', { byPhase: { hover: { below: { warning: 1 } } } }))).toBe(true);
    expect(asksToAct(levelLimit('a', 'NR', { above: { advisory: 1, caution: 2 } }))).toBe(false);
    expect(asksToAct(levelLimit('a', 'NR', {}))).toBe(false);
  });

  it('but not when the loader made it beside another', () => {
    expect(asksToAct(levelLimit('a.cannot-tell', 'NR', { above: { warning: 0.5 } }))).toBe(false);
  });
});
