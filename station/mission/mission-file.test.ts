/** mission.yaml: who is in the room, and the words of the day. */
import { describe, expect, it } from 'vitest';
import { parse } from 'yaml';
import { item } from './shape.ts';
import { readMissionFile } from './mission-file.ts';
import { missionFile } from './schema.ts';
import { Source } from './source.ts';

const text = (more: { words?: string; aircraft?: string; people?: string; rest?: string } = {}): string => `name: Small
stream: SMALL
aircraft:
  name: Small one
  software id: S-1
  configuration id: C-1
${more.aircraft ?? ''}
receivers:
  - name: North
people:
  - {id: td, name: Ines Arkwright, position: test director}
${more.people ?? ''}
words:
  class 1: [KNOCK IT OFF, ABORT ABORT ABORT]
  class 2: [STOP TEST]
${more.words ?? ''}
${more.rest ?? ''}
`;

function read(written: string) {
  const source = new Source('mission.yaml', written);
  const head = readMissionFile(source, item(parse(written), [], missionFile));
  return { head, found: source.findings.map(({ code, line, column, found }) => `${line}:${column} ${code} ${found}`) };
}

describe('mission.yaml', () => {
  it('needs none of what is seldom said', () => {
    const { head, found } = read(text());
    expect(found).toEqual([]);
    expect(head).toEqual({
      ...{ name: 'Small', stream: 'SMALL', receivers: [{ name: 'North' }] },
      aircraft: { name: 'Small one', softwareId: 'S-1', configurationId: 'C-1' },
      people: [{ id: 'td', name: 'Ines Arkwright', position: 'test director' }],
      words: { class1: ['KNOCK IT OFF', 'ABORT ABORT ABORT'], class2: ['STOP TEST'] },
    });
  });

  it('says who may call class 2 directly, the words of the start and of the range, and where those begin', () => {
    const { head, found } = read(
      text({
        aircraft: '  termination system: true',
        words: '  start: [ABORT START]\n  start phases: [start, light-off]\n  range: [TERMINATE]',
        rest: 'may call class 2: [flight control, range safety]',
      }),
    );
    expect(found).toEqual([]);
    expect(head.aircraft.terminationSystem).toBe(true);
    expect(head.mayCallClass2).toEqual(['flight control', 'range safety']);
    expect(head.words).toEqual({
      ...{ class1: ['KNOCK IT OFF', 'ABORT ABORT ABORT'], class2: ['STOP TEST'], start: ['ABORT START'] },
      ...{ startPhases: ['start', 'light-off'], range: ['TERMINATE'] },
      places: {
        'start phases 0': { file: 'mission.yaml', line: 17, column: 18 },
        'start phases 1': { file: 'mission.yaml', line: 17, column: 25 },
      },
    });
  });

  it('tells of each word that cannot be briefed where it stands', () => {
    const words = '  start: [ABORT START, stop test]\n  range: [TERMINATE, KNOCK IT OFF]';
    const found = ['16:24 duplicate-name "stop test"', '17:22 duplicate-name "KNOCK IT OFF"'];
    expect(read(text({ words })).found).toEqual(found);
  });

  it('lets TERMINATE be a word only where it is said that there is no termination system', () => {
    const words = '  start: [TERMINATE START]';
    const refused = ['16:11 bad-value "TERMINATE START"'];
    expect(read(text({ words })).found).toEqual(refused);
    expect(read(text({ words, aircraft: '  termination system: true' })).found).toEqual(refused);
    expect(read(text({ words, aircraft: '  termination system: false' })).found).toEqual([]);
    expect(read(text({ words, aircraft: '  termination system: false' })).head.aircraft.terminationSystem).toBe(false);
  });

  it('takes ids that differ in the case of letters alone for one', () => {
    const people = '  - {id: TD, name: Another, position: engine}\n  - {id: Td, name: A third, position: engine}';
    expect(read(text({ people })).found).toEqual(['12:10 duplicate-name "TD"', '13:10 duplicate-name "Td"']);
    const same = '  - {id: td, name: Another, position: engine}';
    expect(read(text({ people: same })).found).toEqual(['12:10 duplicate-name "td"']);
  });
});
