/**
 * Logic over limits against a slow twin: truth as numbers (no 0, cannot tell 1/2, yes 1; and = least, or = greatest), all
 * moments looked at one by one in plain lists. The changes of the limits it names are taken as they were told.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type ConditionChange, levelNumber, levels } from '../../protocol/limit.ts';
import { SECOND } from '../../protocol/time.ts';
import { Validity } from '../../protocol/validity.ts';
import { changesOf, type LimitFlight, limitOf, START } from '../support/limit-flight.ts';
import { seeded } from './limit-scenario.ts';

type Tree =
  | { is: 'limit'; id: string; level: number }
  | { is: 'not'; of: Tree }
  | { is: 'and' | 'or'; parts: Tree[] }
  | { is: 'least'; count: number; parts: Tree[] };

const ids = ['a', 'b', 'c', 'd', 'e'];

function randomTree(chance: () => number, depth: number): Tree {
  const dice = depth === 0 ? 0 : chance();
  const parts = () => Array.from({ length: 2 + Math.floor(chance() * 2) }, () => randomTree(chance, depth - 1));
  if (dice < 0.35) {
    const level = chance() < 0.7 ? 1 : 1 + Math.floor(chance() * 4);
    return { is: 'limit', id: ids[Math.floor(chance() * ids.length)] as string, level };
  }
  if (dice < 0.5) return { is: 'not', of: randomTree(chance, depth - 1) };
  if (dice < 0.85) return { is: dice < 0.7 ? 'and' : 'or', parts: parts() };
  const all = parts();
  return { is: 'least', count: 1 + Math.floor(chance() * all.length), parts: all };
}

/** With brackets round everything. */
function textOf(tree: Tree): string {
  switch (tree.is) {
    case 'limit':
      return tree.level === 1 ? tree.id : `${tree.id} at ${levels[tree.level - 1]}`;
    case 'not':
      return `not (${textOf(tree.of)})`;
    case 'least':
      return `${tree.count} of (${tree.parts.map(textOf).join(', ')})`;
    default:
      return tree.parts.map((part) => `(${textOf(part)})`).join(` ${tree.is} `);
  }
}

interface Member {
  condition: ConditionChange['condition'];
  level: number;
}

function truth(tree: Tree, said: ReadonlyMap<string, Member>): number {
  switch (tree.is) {
    case 'limit': {
      const { condition, level } = said.get(tree.id) as Member;
      if (condition === 'cannot tell') return 0.5;
      return condition === 'outside' && level >= tree.level ? 1 : 0;
    }
    case 'not':
      return 1 - truth(tree.of, said);
    case 'and':
      return Math.min(...tree.parts.map((part) => truth(part, said)));
    case 'or':
      return Math.max(...tree.parts.map((part) => truth(part, said)));
    case 'least':
      // of all parts in falling order, the one that makes up the number
      return tree.parts.map((part) => truth(part, said)).sort((x, y) => y - x)[tree.count - 1] as number;
  }
}

const named = (tree: Tree): string[] =>
  tree.is === 'limit' ? [tree.id] : tree.is === 'not' ? named(tree.of) : tree.parts.flatMap(named);

type Told = Pick<ConditionChange, 'condition' | 'level' | 'detail'> & { time: number };

/** What the logic limit says, from the changes of the others and the times of its own samples. */
function slowLogic(
  tree: Tree,
  others: readonly (Told & { id: string })[],
  samples: number[],
  persistence: number,
): Told[] {
  const said = new Map<string, Member>(ids.map((id) => [id, { condition: 'cannot tell', level: 0 }]));
  const inText = [...new Set(named(tree))];
  const looked = new Set([...samples, ...others.filter(({ id }) => inText.includes(id)).map(({ time }) => time)]);
  const result: Told[] = [];
  let condition: Told['condition'] = 'cannot tell';
  let since: number | undefined;
  let active = false;
  const say = (to: Told['condition'], time: number): void => {
    if (to === condition) return;
    condition = to;
    const standing = inText.filter((id) => said.get(id)?.condition === 'outside').join(', ');
    const isOutside = to === 'outside';
    result.push({
      condition: to,
      level: isOutside ? levelNumber('warning') : 0,
      detail: isOutside ? standing : '',
      time,
    });
  };
  for (const time of [...looked].sort((x, y) => x - y)) {
    for (const other of others) {
      if (other.time === time) said.set(other.id, { condition: other.condition, level: other.level });
    }
    const is = truth(tree, said);
    if (is === 0.5) say('cannot tell', time);
    else if (is === 0) {
      [since, active] = [undefined, false];
      say('inside', time);
    } else {
      since ??= time;
      if (time - since >= persistence) active = true;
      say(active ? 'outside' : 'pending', time);
    }
  }
  return result;
}

function makeFlight(seed: number): { flight: LimitFlight; tree: Tree; persistence: number } {
  const chance = seeded(seed);
  const tree = randomTree(chance, 3);
  const seconds = 8;
  const groups: Record<string, number> = { slow: 10, main: 50, fast: 200 };
  const signals = Object.fromEntries(
    ids.map((id) => {
      const group = ['slow', 'main', 'fast'][Math.floor(chance() * 3)] as string;
      const values: number[] = [];
      let value = 0;
      let lost = 0;
      for (let i = 0; i < seconds * (groups[group] as number); i++) {
        if (chance() < 3 / (groups[group] as number)) value = Math.floor(chance() * 5);
        if (lost === 0 && chance() < 0.5 / (groups[group] as number)) lost = Math.ceil(chance() * 20);
        values.push(lost-- > 0 ? Number.NaN : value);
        lost = Math.max(0, lost);
      }
      const code = (_: number, i: number) => (Number.isNaN(values[i]) ? Validity.link : Validity.good);
      return [id.toUpperCase(), { group, at: (_: number, i: number) => values[i] as number, code }];
    }),
  );
  const persistence = chance() < 0.5 ? 0 : Math.floor(chance() * 30) * (SECOND / 50);
  const own = { group: 'main', at: () => 0 };
  const level = (id: string) =>
    limitOf(id, 'level', id.toUpperCase(), {
      above: { advisory: 0.5, caution: 1.5, warning: 2.5, stop: 3.5 },
      persistence: chance() < 0.5 ? 0 : SECOND / 10,
    });
  const logic = limitOf('l', 'logic', 'OWN', {
    above: { warning: 0.5 },
    persistence,
    settings: { when: textOf(tree) },
  });
  // anywhere among the others: the order in the file is not the order of looking
  const limits = ids.map(level);
  limits.splice(Math.floor(chance() * limits.length), 0, logic);
  return { flight: { seconds, groups, signals: { ...signals, OWN: own }, limits }, tree, persistence };
}

describe('logic over limits against its slow twin', () => {
  it('tells the same changes for random expressions, limits of several rates and losses, whatever the cuts', () => {
    const counts: Record<string, number> = { inside: 0, pending: 0, outside: 0, 'cannot tell': 0 };
    fc.assert(
      fc.property(fc.integer(), (seed) => {
        const { flight, tree, persistence } = makeFlight(seed);
        const at = flight.limits.findIndex(({ id }) => id === 'l');
        const split = (cut?: number) => {
          const told = changesOf(flight, cut).map(({ limit, condition, level, detail, aircraft }) => ({
            id: flight.limits[limit]?.id as string,
            told: { condition, level, detail, time: aircraft as number },
            limit,
          }));
          return {
            others: told.filter(({ limit }) => limit !== at).map(({ id, told: one }) => ({ id, ...one })),
            own: told.filter(({ limit }) => limit === at).map(({ told: one }) => one),
          };
        };
        const { own, others } = split();
        const samples = Array.from({ length: flight.seconds * 50 }, (_, i) => START + Math.round((i / 50) * SECOND));
        const slow = slowLogic(tree, others, samples, persistence);
        expect(own, textOf(tree)).toEqual(slow);
        expect(split(seed).own).toEqual(slow);
        for (const { condition } of slow) counts[condition] = (counts[condition] ?? 0) + 1;
      }),
      { seed: 2501, numRuns: 120 },
    );
    expect(Math.min(...Object.values(counts))).toBeGreaterThan(150);
  });
});
