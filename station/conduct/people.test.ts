import { expect, it } from 'vitest';
import type { Person } from '../../protocol/mission.ts';
import { alike, People } from './people.ts';

const people = new People([
  { id: 'ash', name: 'Ash Corder', position: 'engine' },
  { id: 'ASH2', name: ' ash  CORDER ', position: 'test director' },
  { id: 'birch', name: 'Birch', position: 'engine' },
  { id: 'Birch', name: 'Another', position: 'test director' },
  { id: 'cedar', name: 'Cedar', position: 'flight control' },
] satisfies Person[]);

it('people are known by their id as it is written', () => {
  expect(people.get('birch')?.name).toBe('Birch');
  expect(people.get('Birch')?.name).toBe('Another');
  expect(people.get('BIRCH')).toBeUndefined();
});

it('people are found by where they sit', () => {
  expect(people.at('engine').map(({ id }) => id)).toEqual(['ash', 'birch']);
  expect(people.at('range safety')).toEqual([]);
});

it('two ids are one person when they or the names are alike', () => {
  expect(people.areOne('ash', 'ash')).toBe(true);
  expect(people.areOne('ash', 'ASH2')).toBe(true);
  expect(people.areOne('ASH2', 'ash')).toBe(true);
  expect(people.areOne('birch', 'Birch')).toBe(true);
  expect(people.areOne('gone', ' GONE ')).toBe(true);
  expect(people.areOne('ash', 'birch')).toBe(false);
  expect(people.areOne('ash', 'gone')).toBe(false);
  expect(people.areOne('gone', 'ash')).toBe(false);
  expect(people.areOne('gone', 'away')).toBe(false);
});

it('letter case, width and spacing tell nothing apart', () => {
  expect(alike('  Ａsh\t  Corder ')).toBe('ash corder');
  expect(alike('ash-corder')).toBe('ash-corder');
});
