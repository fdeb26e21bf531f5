import { describe, expect, it } from 'vitest';
import { group, levelLimit, mission, parameter } from '../../test/support/tiny-mission.ts';
import type { Limit } from '../../protocol/limit.ts';
import type { Mission } from '../../protocol/mission.ts';
import { positions } from '../../protocol/role.ts';
import { audienceOf, declaredAlarms, findingsOf, placesOf } from './declared.ts';

const missionOf = (limits: Limit[], more: Partial<Mission> = {}): Mission =>
  mission({
    groups: [group('main', 100)],
    parameters: [parameter('A', 'main'), parameter('B', 'main')],
    limits,
    ...more,
  });
const causes = (causedBy: Record<string, string[]>): Record<string, string[]> => {
  const limits = Object.entries(causedBy).map(([id, by]) => levelLimit(id, 'A', { causedBy: by }));
  const alarms = declaredAlarms(missionOf(limits));
  return Object.fromEntries(
    limits.map(({ id }, i) => [
      id,
      [...(alarms[i]?.causes ?? [])].map((cause) => alarms[cause]?.definition.id as string).sort(),
    ]),
  );
};

describe('what a mission declares of its alarms', () => {
  it('finds causes of causes, however far, and survives a circle', () => {
    expect(causes({ a: [], b: ['a'], c: ['b', 'data.stream'], d: ['c'] })).toEqual({
      a: [],
      b: ['a'],
      c: ['a', 'b', 'data.stream'],
      d: ['a', 'b', 'c', 'data.stream'],
    });
    expect(causes({ a: ['c'], b: ['a'], c: ['b'], d: ['d', 'a'] })).toEqual({
      a: ['b', 'c'],
      b: ['a', 'c'],
      c: ['a', 'b'],
      d: ['a', 'b', 'c'],
    });
  });

  it('announces at the watcher, the test conductor and the test director, each once', () => {
    const names = (watcher: string) => audienceOf(watcher).map((p) => positions[p]);
    expect(names('engine')).toEqual(['test director', 'test conductor', 'engine']);
    expect(names('test conductor')).toEqual(['test director', 'test conductor']);
    const alarms = declaredAlarms(missionOf([levelLimit('x', 'A')]));
    expect(alarms[0]?.audience).toEqual(audienceOf('engine'));
    expect(alarms[1]?.audience).toEqual(audienceOf('instrumentation'));
  });

  it('knows where the parameter of a limit on its value stands; other limits and conditions have no place', () => {
    const kinds = ['level', 'peak', 'by phase', 'card stop', 'rate', 'plausibility', 'logic'] as const;
    const limits = kinds.map((kind) => ({ ...levelLimit(kind, 'B'), kind }));
    const alarms = declaredAlarms(missionOf([...limits, levelLimit('y', 'A', { family: 'data' })]));
    const places = alarms.map(({ watched }) => watched);
    expect(places.slice(0, 4)).toEqual(Array.from({ length: 4 }, () => ({ group: 0, place: 1 })));
    expect(places.slice(4).filter(Boolean)).toEqual([]);
    expect(placesOf(missionOf([], { parameters: [parameter('A', 'nowhere')] }))).toEqual(new Map());
  });

  it('lets the watcher free the latch, else the test conductor, else anybody', () => {
    const bits = (...seats: (typeof positions)[number][]): number => {
      const people = seats.map((position) => ({ id: position, name: position, position }));
      return declaredAlarms(missionOf([levelLimit('x', 'A', { watcher: 'engine' })], { people }))[0]?.owners ?? 0;
    };
    expect(bits('test conductor', 'engine')).toBe(1 << positions.indexOf('engine'));
    expect(bits('test conductor', 'test director')).toBe(1 << positions.indexOf('test conductor'));
    expect(bits('test director')).toBe(2 ** positions.length - 1);
  });
});

describe('what is wrong with who watches what', () => {
  const at = (line: number) => ({ file: 'limits.yaml', line, column: 3 });
  const phases = {
    parameter: 'B',
    phases: [
      { id: 'ground', name: 'Ground', transitions: [] },
      { id: 'hover', name: 'Hover', transitions: [] },
    ],
    hold: 0,
  };

  it('is a watcher, a cause and a phase that nothing defines, each at its own place', () => {
    const limit = levelLimit('x', 'A', {
      watcher: 'engin',
      causedBy: ['x', 'data.streem'],
      suppressIn: ['hovr', 'ground'],
      place: at(1),
      places: { watcher: at(2), 'caused by': at(3), 'suppress in': at(4) },
    });
    expect(findingsOf(missionOf([limit], { phases }))).toEqual([
      {
        code: 'unknown-name',
        ...at(2),
        found: 'limit x: watcher engin',
        expected: `a position: ${positions.join(', ')}`,
        hint: 'did you mean engine?',
      },
      {
        code: 'unknown-name',
        ...at(3),
        found: 'limit x: caused by data.streem',
        expected: 'the id of an alarm',
        hint: 'did you mean data.stream?',
      },
      {
        code: 'unknown-name',
        ...at(4),
        found: 'limit x: suppressed in hovr',
        expected: 'a phase: ground, hover',
        hint: 'did you mean hover?',
      },
    ]);
  });

  it('is at the limit, else at its file, where the key has no place; with a hint only where a name is near', () => {
    const limits = [
      levelLimit('x', 'A', { causedBy: ['something else'], place: at(7) }),
      levelLimit('y', 'A', { suppressIn: ['hover'] }),
    ];
    expect(findingsOf(missionOf(limits))).toEqual([
      { code: 'unknown-name', ...at(7), found: 'limit x: caused by something else', expected: 'the id of an alarm' },
      {
        code: 'unknown-name',
        file: 'limits.yaml',
        line: 0,
        column: 0,
        found: 'limit y: suppressed in hover',
        expected: 'no phase: none is declared',
      },
    ]);
  });

  it('is an id that a data-quality condition has', () => {
    const limit = levelLimit('data.clock', 'A', { place: at(5) });
    expect(findingsOf(missionOf([limit]))).toEqual([
      {
        code: 'duplicate-name',
        ...at(5),
        found: 'limit data.clock',
        expected: 'an id that no data-quality condition has',
      },
    ]);
  });

  it('is nothing in a mission that is well', () => {
    const limit = levelLimit('x', 'A', { causedBy: ['data.stream'], suppressIn: ['ground'] });
    expect(findingsOf(missionOf([limit], { phases }))).toEqual([]);
  });
});
