import { describe, expect, it } from 'vitest';
import type { Limit } from '../../protocol/limit.ts';
import { derived, levelLimit, mission, parameter } from '../../test/support/tiny-mission.ts';
import { HUMAN_CHAIN, MOST_WATCHED, packCheck } from './pack-check.ts';

const A = parameter('A', 'main', { physicalRange: [0, 100] });
const place = { file: 'limits.yaml', line: 7, column: 3 };

/** What is found against these limits, in short. */
const told = (limits: Limit[], more: Parameters<typeof mission>[0] = {}) =>
  packCheck(mission({ parameters: [A], limits, ...more })).map(({ code, found }) => `${code} ${found}`);

const warning: Partial<Limit> = { above: { warning: 90 }, timeToConsequence: 10 };
const stop: Partial<Limit> = {
  above: { stop: 80 },
  timeToConsequence: 10,
  author: 'One',
  approver: 'Another',
};

describe('the pack check', () => {
  it('has nothing against limits that keep the rules', () => {
    expect(told([levelLimit('a', 'A', warning), levelLimit('b', 'A', stop), levelLimit('c', 'A')])).toEqual([]);
  });

  it('wants the time to consequence to outlast persistence and the human chain, to the last bit', () => {
    const at = (timeToConsequence: number, more: Partial<Limit> = {}) =>
      told([levelLimit('a', 'A', { ...warning, timeToConsequence, ...more })]).length;
    expect([at(HUMAN_CHAIN), at(HUMAN_CHAIN - 0.001)]).toEqual([0, 1]);
    expect([at(HUMAN_CHAIN + 2, { persistence: 2e6 }), at(HUMAN_CHAIN + 1.9, { persistence: 2e6 })]).toEqual([0, 1]);
    expect(at(0.1, { confirmsAutomation: true })).toBe(0);
    // what nobody has to act on at once needs no time
    expect(at(0.1, { above: { caution: 80 } })).toBe(0);
  });

  it('looks at warnings and stops on both sides and in every phase', () => {
    const levels: Partial<Limit>[] = [
      { above: { warning: 1 } },
      { below: { stop: 1 }, author: 'One', approver: 'Another' },
      { above: { caution: 1 }, below: { warning: 0 } },
      { byPhase: { hover: { above: { caution: 3 } }, cruise: { below: { warning: 3 } } } },
    ];
    for (const more of levels)
      expect(told([levelLimit('a', 'A', more)])).toEqual(['consequence-missing limit a: no time to consequence']);
    expect(told([levelLimit('a', 'A', { byPhase: { hover: { above: { caution: 3 } } } })])).toEqual([]);
  });

  it('takes words that say nothing, and a guess, for no source', () => {
    const empty = ['', '-', '?', '...', 'tbd', 'T.B.D.', 'N/A', 'none', 'XXX', 'unknown', 'To be confirmed'];
    const guessed = ['Seemed right', 'it seems reasonable', 'best guess of the crew', 'Rule of thumb', 'made up'];
    for (const source of [...empty.filter((text) => text !== 'T.B.D.'), ...guessed])
      expect(told([levelLimit('a', 'A', { source })]), source).toHaveLength(1);
    for (const source of ['Test limits, issue 1', 'x-ray report 5', 'Отчёт 12', 'note 7: unknown mode at 6 Hz'])
      expect(told([levelLimit('a', 'A', { source })]), source).toEqual([]);
    expect(told([levelLimit('a', 'A', { firstAction: ' - ' })])).toEqual(['first-action-missing limit a: " - "']);
  });

  it('wants a stop signed by two people, spoken always, watched by somebody', () => {
    const one = (more: Partial<Limit>) => told([levelLimit('a', 'A', { ...stop, ...more })]);
    const without = (key: 'author' | 'approver') => {
      const { [key]: _, ...rest } = { ...levelLimit('a', 'A', stop) };
      return told([rest]);
    };
    expect(without('author')).toEqual(['release-missing limit a: no author']);
    expect(without('approver')).toEqual(['release-missing limit a: no approver']);
    expect(one({ approver: ' one ' })).toEqual(['release-missing limit a: " one ", who wrote it']);
    expect(one({ suppressIn: ['ground'] })).toEqual(['stop-suppressed limit a: suppressed in ground']);
    expect(one({ watcher: 'range safety' })).toEqual([
      'stop-unwatched limit a: range safety, which nobody of the mission is',
    ]);
    // a limit of any level is not approved by its author
    expect(told([levelLimit('a', 'A', { author: 'One', approver: 'ONE' })])).toHaveLength(1);
  });

  it('counts what a position watches actively: warnings and stops, unless the limit says otherwise', () => {
    const many = (count: number, more: Partial<Limit> = warning) =>
      Array.from({ length: count }, (_, i) => levelLimit(`l${i}`, 'A', more));
    expect(told(many(MOST_WATCHED))).toEqual([]);
    expect(told(many(MOST_WATCHED + 2))).toEqual([
      'watch-overload limit l4: 6 limits watched actively by engine, this the 5th',
    ]);
    expect(told(many(9, { ...warning, watchedActively: false }))).toEqual([]);
    expect(told(many(9, { above: { caution: 1 } }))).toEqual([]);
    expect(told(many(5, { above: { caution: 1 }, watchedActively: true }))).toHaveLength(1);
  });

  it('wants a rule of validity for whatever a warning looks at, through formulas and conditions', () => {
    const bare = parameter('B', 'main', { place: { file: 'parameters.yaml', line: 5, column: 9 } });
    const of = (more: Partial<Limit>, rule: Parameters<typeof parameter>[2] = {}, limits: Limit[] = []) =>
      told([levelLimit('a', 'D', { ...warning, ...more }), ...limits], {
        parameters: [A, { ...bare, ...rule }],
        derived: [derived('C', 'main', 'B - A'), derived('D', 'main', 'C * 2[1]')],
      });
    expect(of({})).toEqual(['validity-missing B without a rule of validity']);
    expect(of({ above: { caution: 5 } })).toEqual([]);
    for (const rule of [
      { physicalRange: [0, 5] as [number, number] },
      { frozenAfter: 5 },
      { plausible: { fastest: 5 } },
      { calibration: { kind: 'states' as const, states: { 0: 'a' } } },
      { calibration: { kind: 'bits' as const, word: 'A', shift: 0, width: 1 } },
    ])
      expect(of({}, rule), JSON.stringify(rule)).toEqual([]);
    expect(of({}, { calibration: { kind: 'bits', word: 'A', shift: 0, width: 2 } })).toHaveLength(1);
    const watch = levelLimit('v', 'A', { kind: 'validity' as Limit['kind'], settings: { parameters: ['B'] } });
    expect(of({}, {}, [watch])).toEqual([]);
  });

  it('keeps the stop of a card inside the limit of the aircraft', () => {
    const aircraft = levelLimit('aircraft', 'A', { above: { caution: 70, warning: 90 }, timeToConsequence: 10 });
    const card = (more: Partial<Limit>, outer = aircraft) =>
      told([outer, levelLimit('card', 'A', { ...stop, settings: { inside: 'aircraft' }, ...more })]);
    expect(card({ above: { stop: 90 } })).toEqual([]);
    expect(card({ above: { stop: 90.5 } })).toEqual(['outside-aircraft-limit limit card: stop above 90.5']);
    expect(card({ above: {}, below: { stop: 10 } })).toEqual([
      'outside-aircraft-limit limit card: inside aircraft, on another side or in other phases',
    ]);
    const low = levelLimit('aircraft', 'A', { below: { caution: 20 } });
    expect(card({ above: {}, below: { stop: 20 } }, low)).toEqual([]);
    expect(card({ above: {}, below: { stop: 19 } }, low)).toEqual(['outside-aircraft-limit limit card: stop below 19']);
    const byPhase = {
      hover: { above: { caution: 60, warning: 70 } },
      cruise: { above: { warning: 90 } },
    };
    const phased = levelLimit('aircraft', 'A', { kind: 'by phase', byPhase, timeToConsequence: 10 });
    expect(card({ above: { stop: 71 } }, phased)).toHaveLength(1);
    expect(card({ above: { stop: 71 }, phases: ['cruise'] }, phased)).toEqual([]);
    expect(card({ above: { stop: 71 }, phases: ['ground'] }, phased)).toHaveLength(1);
    expect(card({ above: { stop: 1 } }, levelLimit('aircraft', 'A', { kind: 'rate', above: { caution: 5 } }))).toEqual([
      'outside-aircraft-limit limit card: inside aircraft, of kind rate',
    ]);
    const other = { ...low, parameter: 'B' };
    const found = packCheck(
      mission({
        parameters: [A, parameter('B', 'main')],
        limits: [other, levelLimit('card', 'A', { ...stop, settings: { inside: 'aircraft' }, place })],
      }),
    );
    expect(found).toMatchObject([{ code: 'outside-aircraft-limit', ...place }]);
  });

  it('tells a circle of causes once, the shortest way round', () => {
    const caused = (id: string, ...causedBy: string[]) => levelLimit(id, 'A', { causedBy });
    expect(told([caused('a', 'b', 'c'), caused('b', 'a'), caused('c', 'd'), caused('d', 'a')])).toEqual([
      'cause-cycle limit a: a caused by b caused by a',
      'cause-cycle limit c: c caused by d caused by a caused by c',
    ]);
    expect(told([caused('a', 'b'), caused('b', 'c'), caused('c')])).toEqual([]);
    expect(told([caused('a', 'a')])).toEqual(['cause-cycle limit a: a caused by a']);
  });

  it('leaves out the limits the loader makes to say that another one is blind', () => {
    expect(told([levelLimit('a.cannot-tell', 'A', { above: { warning: 0.5 }, source: '-' })])).toEqual([]);
  });
});
