import { describe, expect, it } from 'vitest';
import { actionNames, allowances, isAllowed, type Position, positions, roleRefusal, roleTable } from './role.ts';

/** The table as a telemetry room has it: y = yes, o = with what it watches, b = when briefed, - = no. */
const expected = `
                        TD TC FC EN RL HQ RS IN CF
acknowledge             y  y  y  y  y  y  y  y  y
call stop class 1       y  y  y  y  y  y  y  y  y
call stop class 2       y  y  b  b  b  b  b  y  b
step stop call          y  y  -  -  -  -  -  -  -
close stop call         y  y  -  -  -  -  -  -  -
resume after stop call  y  -  -  -  -  -  -  -  -
mark                    y  y  y  y  y  y  y  y  y
name flight             y  y  -  -  -  -  -  -  -
close flight            y  y  -  -  -  -  -  -  -
shelve                  y  y  o  o  o  o  o  o  o
take out of service     y  o  o  o  o  o  o  o  o
tighten limit           y  -  o  o  o  o  -  -  -
propose loosening       y  -  o  o  o  o  -  -  -
approve loosening       y  -  o  o  o  o  -  -  -
decline change          y  -  o  o  o  o  -  -  -
run points              y  y  -  -  -  -  -  -  -
decide step             y  y  -  -  -  -  -  -  -
open anomaly            y  y  y  y  y  y  y  y  y
close anomaly           y  -  -  -  -  -  -  -  -
acknowledge notice      y  y  y  y  y  y  y  y  y
open poll               y  y  -  -  -  -  -  -  -
answer poll             y  y  y  y  y  y  y  y  y
assign watch            y  o  o  o  o  o  o  o  o
run morning check       -  -  -  -  -  -  -  y  -
run control sweep       -  -  y  -  -  -  -  -  -
set load                y  y  -  -  -  -  -  -  -
report voice            y  y  y  y  y  y  y  y  y
tick checklist          y  y  y  y  y  y  y  y  y
hold evidence           y  y  -  -  -  -  -  y  -
`;
const letters = { yes: 'y', own: 'o', briefed: 'b', no: '-' } as const;

describe('the role table', () => {
  it('is this one: every action, every position', () => {
    const rows = actionNames.map((action) => {
      const cells = positions.map((position) => letters[roleTable[action][position]]);
      return `${action.padEnd(24)}${cells.join('  ')}`;
    });
    expect(rows).toEqual(expected.trim().split('\n').slice(1));
    expect(Object.keys(roleTable)).toEqual([...actionNames]);
  });

  it('lets a position act by what its cell says: own things, briefed ones, all or none', () => {
    const used = new Set<string>();
    for (const action of actionNames) {
      for (const position of positions) {
        const other = positions.find((one) => one !== position) as Position;
        const cell = roleTable[action][position];
        used.add(cell);
        const answers = [
          isAllowed(position, action, { watcher: position, briefed: [other] }),
          isAllowed(position, action, { watcher: other, briefed: [position, other] }),
          isAllowed(position, action, { watcher: other }),
          isAllowed(position, action),
        ];
        expect(answers).toEqual(
          {
            yes: [true, true, true, true],
            own: [true, false, false, true],
            briefed: [false, true, false, false],
            no: [false, false, false, false],
          }[cell],
        );
      }
    }
    expect([...used].sort()).toEqual([...allowances].sort());
  });

  it('has no place for what is no position', () => {
    for (const action of actionNames) {
      for (const name of ['', 'pilot', 'constructor', 'Test Director']) {
        expect(isAllowed(name, action, { watcher: name, briefed: [name] })).toBe(false);
      }
    }
  });

  it('says who may instead', () => {
    expect(roleRefusal('engine', 'call stop class 2', { briefed: ['range safety'] })).toBe(
      'engine may not call stop class 2; test director, test conductor, range safety, instrumentation may',
    );
    expect(roleRefusal('range safety', 'call stop class 2', { briefed: ['range safety'] })).toBe('');
    expect(roleRefusal('engine', 'tighten limit', { watcher: 'flight control' })).toBe(
      'engine may not tighten limit; test director, flight control may',
    );
    expect(roleRefusal('instrumentation', 'tighten limit', { watcher: 'instrumentation' })).toBe(
      'instrumentation may not tighten limit; test director may',
    );
    expect(roleRefusal('engine', 'tighten limit', { watcher: 'engine' })).toBe('');
  });
});
