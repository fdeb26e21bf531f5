import { describe, expect, it } from 'vitest';
import { findingText } from '../../protocol/finding.ts';
import { Names, type Known } from './names.ts';
import type { ParameterNames } from './parameters.ts';
import * as schema from './schema.ts';
import { checkShape, items } from './shape.ts';
import { Source } from './source.ts';
import { readBoundaries, readTables } from './tables.ts';

function read(text: string) {
  const source = new Source('tables.yaml', text);
  const names: ParameterNames = {
    groups: new Names<number>('rate group'),
    parameters: new Names<Known>('parameter'),
    broken: new Set(),
    lookedUp: new Map(),
    generated: new Map(),
  };
  names.parameters.declare(source, [], 'NR', { hasStates: false });
  checkShape(source, schema.tablesFile);
  const tables = readTables(source, items(source, 'tables', schema.table), names);
  const boundaries = readBoundaries(source, items(source, 'boundaries', schema.boundary), names);
  return { tables, boundaries, findings: source.findings.map(findingText), broken: names.broken };
}

const table = (more: string) => `tables:
  - id: T
    name: A table
    unit: kt
${more.replace(/^/gm, '    ')}
`;

describe('tables.yaml', () => {
  it('gives tables of one and two axes, and boundaries', () => {
    const { tables, boundaries, findings } = read(`tables:
  - id: POSITION_ERROR
    name: Correction of indicated airspeed
    unit: kt
    axes: [{name: indicated airspeed, unit: kt, at: [20, 60, 100]}]
    values: [3, 1.5, 0]
    source: tower fly-by 4
    date: 2026-10-01
  - id: SPEEDS
    name: Never-exceed speed
    unit: kt
    axes: [{name: density altitude, unit: ft, at: [0, 2000]}, {name: mass, unit: kg, at: [1200, 1500, 1650]}]
    values: [[120, 120, 116], [119, 118, 110]]
    outside: edge
boundaries:
  - {id: RANGE, name: The range, keep: inside, points: [[50, -30], [50.2, -30], [50.2, -29.5], [50, -29.5]]}
`);
    expect(findings).toEqual([]);
    expect(tables[0]).toMatchObject({
      id: 'POSITION_ERROR',
      values: [3, 1.5, 0],
      outside: 'no value',
      date: '2026-10-01',
    });
    expect(tables[1]).toMatchObject({ values: [120, 120, 116, 119, 118, 110], outside: 'edge' });
    expect(boundaries[0]).toMatchObject({ id: 'RANGE', keep: 'inside', points: { length: 4 } });
  });

  it.each([
    ['axes: [{name: x, unit: kt, at: [20, 60, 60]}]\nvalues: [1, 2, 3]', '5:45', '60 after 60', 'points that rise'],
    ['axes: [{name: x, unit: kts, at: [20, 60]}]\nvalues: [1, 2]', '5:28', '"kts"', 'did you mean kt?'],
    ['axes: [{name: x, unit: kt, at: [20, 60]}]\nvalues: [1, 2, 3]', '6:13', '3 entries', '2: a value for each'],
    ['axes: [{name: x, unit: kt, at: [20, 60]}]\nvalues: [[1, 2], [3, 4]]', '6:14', '2 values', 'there is one axis'],
    [
      'axes: [{name: x, unit: kt, at: [1, 2]}, {name: y, unit: m, at: [1, 2]}]\nvalues: [[1, 2], [3]]',
      '6:22',
      '1 values',
      '2, as many',
    ],
    ['axes: [{name: x, unit: kt, at: [20]}]\nvalues: [1]', '5:36', 'a list of 1', 'at least two points'],
    ['axes: [{name: x, unit: kt, at: [.nan, 1]}]\nvalues: [1, .inf]', '5:37', 'NaN', 'a number'],
    ['axes: [{name: x, unit: kt, at: [1, 2]}]', '2:5', 'no values', 'a list of numbers'],
  ])('finds what is wrong with a table: %s', (text, place, found, expected) => {
    const { findings, tables, broken } = read(table(text));
    expect(findings[0]).toContain(`tables.yaml:${place}:`);
    expect(findings[0]).toContain(found);
    expect(findings[0]).toContain(expected);
    expect(tables).toEqual([]);
    expect([...broken]).toEqual(['T']);
  });

  const boundary = (points: string) => `boundaries: [{id: B, name: Edge, keep: inside, points: ${points}}]`;
  it.each([
    ['[[50, 0], [50, 1]]', 'at least three corners'],
    ['[[50, 0], [95, 1], [50, 1]]', 'a latitude within 90'],
    ['[[50, 0], [60, 0], [50, 1]]', 'within 222 km'],
    ['[[50, 0], [50, 0], [50, 1]]', 'corners apart'],
    ['[[50, 0], [51, 1], [51, 0], [50, 1]]', 'crosses the side after corner 1'],
  ])('finds what is wrong with a boundary: %s', (points, expected) => {
    const { findings, boundaries } = read(boundary(points));
    expect(findings[0]).toContain(expected);
    expect(boundaries).toEqual([]);
  });

  it('takes a boundary that crosses the 180th meridian', () => {
    expect(read(boundary('[[0, 179.5], [1, 179.5], [1, -179.5], [0, -179.5]]')).findings).toEqual([]);
  });

  it('refuses a name that something else bears', () => {
    const one = '{id: NR, name: x, keep: inside, points: [[50, 0], [50, 1], [51, 1]]}';
    expect(read(`boundaries: [${one}]`).findings[0]).toContain('a name that nothing else bears');
    const two = one.replace('NR', 'B');
    expect(read(`boundaries: [${two}, ${two}]`).findings[0]).toContain('duplicate-name');
    expect(read(`boundaries: [${one.replace('NR', 'constructor')}]`).findings[0]).toContain('not reserved');
  });
});
