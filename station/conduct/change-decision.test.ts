/** What becomes of a change of a limit: withdrawn, refused, not taken at all; under another baseline. */
import { describe, expect, it } from 'vitest';
import { base, idAt, limits, looser, missionOf, Room, situation, tighter } from '../../test/support/limit-changes.ts';
import { levelLimit } from '../../test/support/tiny-mission.ts';
import type { Limit } from '../../protocol/limit.ts';
import { limitKinds } from '../../protocol/limit-kinds.ts';
import type { LimitValues } from '../../protocol/limit-change.ts';
import { positions } from '../../protocol/role.ts';

const TD = idAt('test director');
const EN = idAt('engine');

describe('what was asked for', () => {
  it('is withdrawn by its asker, with or without a reason', () => {
    for (const [asker, reason] of [
      [EN, ''],
      [TD, ' later '],
    ] as const) {
      const room = new Room();
      room.ask(asker, 'engine', looser);
      expect(room.decline(asker, 1, reason)).toBe('');
      expect(room.conduct.changes[0]).toMatchObject({
        ...{ state: 'withdrawn', decidedBy: asker, note: reason.trim(), from: 0, decidedGround: 62_000_000 },
      });
      expect(room.valuesOf('engine')).toEqual(base);
    }
  });

  it('is refused, with a reason, by one who could approve it, and by nobody else', () => {
    for (const asker of [EN, TD]) {
      for (const position of positions) {
        const room = new Room();
        room.ask(asker, 'engine', looser);
        const person = idAt(position, 'b');
        const may = asker === TD ? position === 'engine' : position === 'test director';
        const empty = room.decline(person, 1, ' ');
        if (may) expect(empty).toBe('a refusal states its reason');
        expect(room.decline(person, 1, 'not today') === '', `${position} refuses what ${asker} asked`).toBe(may);
        expect(room.conduct.changes[0]).toMatchObject(
          may
            ? { state: 'refused', decidedBy: person, decidedPosition: position, note: 'not today', from: 0 }
            : { state: 'proposed', decidedBy: '' },
        );
      }
    }
    const room = new Room();
    room.ask(EN, 'engine', looser);
    expect(room.decline(idAt('engine', 'b'))).toBe('change 1 was asked for by engine: test director refuses it');
  });

  it('is decided once', () => {
    const room = new Room();
    room.ask(EN, 'engine', looser);
    room.approve(TD);
    expect(room.approve(TD)).toBe('change 1 is in force already');
    expect(room.decline(TD)).toBe('change 1 is in force already');
    expect(room.decline(EN)).toBe('change 1 is in force already');
    room.ask(EN, 'tot', { above: { warning: 111 } });
    room.decline(EN, 2);
    expect(room.approve(TD, 2)).toBe('change 2 is withdrawn already');
    expect(room.decline(TD, 2)).toBe('change 2 is withdrawn already');
    room.ask(EN, 'tot', { above: { warning: 111 } });
    room.decline(TD, 3);
    expect(room.approve(TD, 3)).toBe('change 3 is refused already');
  });

  it('is there, or the answer says that it is not', () => {
    const room = new Room();
    expect(room.approve(TD, 1)).toBe('there is no change 1');
    expect(room.decline(TD, 0)).toBe('there is no change 0');
    expect(room.ask(TD, 'gone', tighter)).toBe('there is no limit gone');
  });
});

describe('a change is not taken', () => {
  it.each<[string, Partial<LimitValues>, RegExp]>([
    ['that changes nothing', {}, /^limit tot has these values already$/],
    ['that changes nothing but how it is written', { below: {} }, /^limit tot has these values already$/],
    ['out of order', { above: { caution: 110, warning: 109 } }, /^warning above 109/],
    ['beyond the physical range', { above: { caution: 100, warning: 120 } }, /^warning above 120: .* ends at 120$/],
    ['to what is no number', { above: { caution: Number.NaN } }, /^caution above NaN/],
    ['to a longer persistence than there can be', { persistence: 1e10 }, /^persistence/],
  ])('%s', (_, more, words) => {
    const room = new Room();
    expect(room.ask(EN, 'tot', more)).toMatch(words);
    expect(room.ask(TD, 'tot', more)).toMatch(words);
    expect(room.conduct.changes).toEqual([]);
  });

  it('without a reason', () => {
    const room = new Room();
    expect(room.ask(EN, 'engine', tighter, ' ')).toBe('a change of a limit states its reason');
    expect(room.ask(EN, 'engine', looser, '')).toBe('a change of a limit states its reason');
    expect(room.conduct.changes).toEqual([]);
  });

  it('where the values are those of phases', () => {
    expect(new Room().ask(EN, 'phased', tighter)).toBe('limit phased has values for each phase: change it in the pack');
  });

  it('by which the check stage could not work', () => {
    const room = new Room();
    const asked: Limit[][] = [];
    const judge = (list: Limit[]): string => {
      asked.push(list);
      return list.some(({ above }) => above?.warning === 115) ? 'no' : '';
    };
    room.around = situation({ judge });
    expect(room.ask(EN, 'engine', looser)).toBe('no');
    expect(room.ask(EN, 'engine', tighter)).toBe('');
    expect(room.conduct.changes).toHaveLength(1);
    const engine = limits.findIndex(({ id }) => id === 'engine');
    expect(asked[1]).toEqual(limits.map((one, i) => (i === engine ? { ...one, ...tighter } : one)));
    room.around = situation();
    room.ask(EN, 'tot', looser);
    room.around = situation({ judge });
    expect(room.approve(TD, 2)).toBe('no');
    expect(room.conduct.changes[1]).toMatchObject({ state: 'proposed' });
  });
});

const cardStop = (Object.entries(limitKinds) as [Limit['kind'], { settings: object }][]).find(
  ([, { settings }]) => 'inside' in settings && (settings.inside as { type: string }).type === 'limit',
);

describe.runIf(cardStop)('the stop limit of a card', () => {
  const stop: Limit = {
    ...levelLimit('card', 'A', { above: { stop: 105 }, watcher: 'engine', settings: { inside: 'engine' } }),
    kind: cardStop?.[0] as Limit['kind'],
  };
  const of = missionOf({ limits: [...limits, stop] });
  const at = (value: number): LimitValues => ({ above: { stop: value }, persistence: 0, hysteresis: 0 });

  it('is tightened like another, and loosened up to the aircraft limit, never beyond', () => {
    const room = new Room(of);
    expect(room.ask(EN, 'card', at(104))).toBe('');
    expect(room.ask(EN, 'card', at(110.5))).toBe(
      'stop above 110.5 lies outside the aircraft limit engine, which ends at 110',
    );
    expect(room.ask(EN, 'card', at(110))).toBe('');
    expect(room.approve(TD, 2)).toBe('');
  });

  it('is held to the aircraft limit as it is in force when the loosening is approved', () => {
    const room = new Room(of);
    room.ask(EN, 'card', at(110));
    room.ask(EN, 'engine', { above: { caution: 90, warning: 108 } });
    expect(room.approve(TD, 1)).toBe('stop above 110 lies outside the aircraft limit engine, which ends at 108');
    room.ask(EN, 'engine', { above: { caution: 90, warning: 100 } });
    expect(room.ask(EN, 'card', at(104))).toBe('');
  });
});

describe('another baseline', () => {
  it('begins without changes; those of the one before stay on their slips and cannot be approved any more', () => {
    const room = new Room();
    room.ask(EN, 'engine', tighter);
    room.ask(EN, 'tot', looser);
    const other = new Room(missionOf({ baselineId: 'other' }));
    other.conduct.restore(room.conduct.save());
    expect(other.conduct.changesInForce).toBe(0);
    expect(other.conduct.limitsInForce()).toEqual(limits);
    expect(other.conduct.changes).toEqual(room.conduct.changes);
    expect(other.approve(TD, 2)).toMatch(/^change 2 is void/);
    expect(other.ask(EN, 'tot', looser)).toBe('');
    expect(other.conduct.changes[2]).toMatchObject({ number: 3, baselineId: 'other' });
  });

  it('without the limit has nothing of it to decide', () => {
    const room = new Room();
    room.ask(EN, 'tot', looser);
    const other = new Room(missionOf({ baselineId: 'other', limits: [] }));
    other.conduct.restore(room.conduct.save());
    for (const answer of [other.approve(TD), other.decline(TD), other.decline(EN)]) {
      expect(answer).toMatch(/^change 1 is void/);
    }
  });
});
