import { describe, expect, it } from 'vitest';
import { mission } from '../../test/support/tiny-mission.ts';
import type { Mission, Person } from '../../protocol/mission.ts';
import type { PhaseMachine } from '../../protocol/phase.ts';
import type { Position } from '../../protocol/role.ts';
import { compileConduct } from './conduct.ts';
import { dayFindings } from './day.ts';

const found = (more: Partial<Mission>): string[] =>
  dayFindings(mission(more)).map(
    ({ code, file, line, column, found: what }) => `${file}:${line}:${column} ${code} ${what}`,
  );
const phases: PhaseMachine = {
  ...{ parameter: 'PHASE', hold: 0 },
  phases: ['ground', 'start', 'hover'].map((id) => ({ id, name: id, transitions: [] })),
};
const words = { class1: ['KNOCK IT OFF'], class2: ['STOP TEST'] };

describe('the people and words of a day', () => {
  it('may be like these', () => {
    expect(found({})).toEqual([]);
    expect(
      found({ mayCallClass2: ['engine'], words: { ...words, start: ['ABORT START'], startPhases: ['start'] }, phases }),
    ).toEqual([]);
  });

  it('have one id for each person, whatever the letter case, and positions that there are', () => {
    const people: Person[] = [
      { id: 'td', name: 'A', position: 'test director' },
      { id: 'td', name: 'B', position: 'engine' },
      { id: 'TD', name: 'C', position: 'engine' },
      { id: 'x', name: 'D', position: 'tower' as Position },
    ];
    expect(found({ people, mayCallClass2: ['engine', 'pilot' as Position] })).toEqual([
      'mission.yaml:0:0 duplicate-name person td',
      'mission.yaml:0:0 duplicate-name person TD',
      'mission.yaml:0:0 unknown-name person x at tower',
      'mission.yaml:0:0 unknown-name pilot, who may call class 2',
    ]);
  });

  it('have words that can be briefed together', () => {
    const both = { class1: ['KNOCK IT OFF'], class2: ['STOP TEST', 'knock it off', 'TERMINATE'] };
    expect(found({ words: both })).toEqual([
      'mission.yaml:0:0 duplicate-name the word knock it off',
      'mission.yaml:0:0 bad-value the word TERMINATE',
    ]);
    const aircraft = { ...mission().aircraft, terminationSystem: false };
    expect(found({ words: both, aircraft })).toEqual(['mission.yaml:0:0 duplicate-name the word knock it off']);
    expect(found({ words: both, aircraft: { ...aircraft, terminationSystem: true } })).toHaveLength(2);
  });

  it('have phases of the start that are phases, told where they stand', () => {
    const places = { 'start phases 1': { file: 'mission.yaml', line: 20, column: 18 } };
    const started = { ...words, startPhases: ['start', 'spool'], places };
    expect(found({ words: started, phases })).toEqual(['mission.yaml:20:18 unknown-name start phase spool']);
    expect(dayFindings(mission({ words: started, phases }))[0]?.expected).toBe('a phase: ground, start, hover');
    expect(found({ words: started })).toEqual([
      'mission.yaml:0:0 unknown-name start phase start',
      'mission.yaml:20:18 unknown-name start phase spool',
    ]);
    expect(dayFindings(mission({ words: started }))[0]?.expected).toBe('no phases, since the mission declares none');
  });
});

it('a mission with something wrong with its day makes no conduct stage', () => {
  const wrong = mission({ words: { class1: ['STOP TEST'], class2: ['STOP TEST'] } });
  expect(compileConduct(wrong)).toEqual({ value: undefined, findings: dayFindings(wrong) });
  expect(compileConduct(mission()).findings).toEqual([]);
});
