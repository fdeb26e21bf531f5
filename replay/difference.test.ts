import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { AlarmEvent } from '../protocol/alarm.ts';
import type { AlarmChange, DifferenceKind, Occurrence } from '../protocol/difference.ts';
import { type Level, levels } from '../protocol/limit.ts';
import { aircraftTime, groundTime, SECOND } from '../protocol/time.ts';
import { differenceList, differenceText, occurrencesOf } from './difference.ts';

const END = aircraftTime(10_000 * SECOND);

const line = (event: AlarmEvent['event'], seconds: number, more: Partial<AlarmEvent> = {}): AlarmEvent => ({
  event,
  alarm: 'nr-low',
  family: 'aircraft',
  level: 'caution',
  aircraft: aircraftTime(Math.round(seconds * SECOND)),
  ground: groundTime(Math.round(seconds * SECOND)),
  value: 96,
  limitValue: 97,
  position: '',
  person: '',
  detail: '',
  ...more,
});

/** Lines of one alarm that stands from `from` to `to`, in seconds; `to` left out = it does not clear. */
const stood = (from: number, to?: number, more: Partial<AlarmEvent> = {}): AlarmEvent[] => [
  line('raised', from, more),
  ...(to === undefined ? [] : [line('cleared', to, more)]),
];
const kindsOf = (before: AlarmEvent[], after: AlarmEvent[]) =>
  differenceList(before, after, END).map(({ alarm, kinds }) => `${alarm}: ${kinds.join(', ')}`);

describe('one alarm is', () => {
  it.each<[string, AlarmEvent[], AlarmEvent[], string[]]>([
    ['new', [], stood(5, 8), ['nr-low: new']],
    ['lost', stood(5, 8), [], ['nr-low: lost']],
    ['earlier and longer when only its beginning moved', stood(5, 8), stood(4, 8), ['nr-low: earlier, longer']],
    ['later and shorter likewise', stood(5, 8), stood(6, 8), ['nr-low: later, shorter']],
    ['later alone when all of it moved', stood(5, 8), stood(6, 9), ['nr-low: later']],
    ['longer alone when only its end moved', stood(5, 8), stood(5, 9), ['nr-low: longer']],
    ['longer when it does not clear any more', stood(5, 8), stood(5), ['nr-low: longer']],
    ['the same when it stands in both', stood(5), stood(5), []],
    [
      'higher when it reached a level more',
      stood(5, 8),
      [line('raised', 5), line('escalated', 6, { level: 'warning' }), line('cleared', 8)],
      ['nr-low: higher'],
    ],
    ['not two when it moved a little and no longer overlaps', stood(5, 5.1), stood(7, 7.2), ['nr-low: later, longer']],
    ['another one when it is far away', stood(5, 6), stood(500, 501), ['nr-low: lost', 'nr-low: new']],
    ['never joined with another alarm', stood(5, 8), stood(5, 8, { alarm: 'x' }), ['nr-low: lost', 'x: new']],
  ])('%s', (_, before, after, expected) => {
    expect(kindsOf(before, after)).toEqual(expected);
  });
});

it('acknowledging, shelving, easing and the latch make no difference', () => {
  const quiet = stood(5, 8);
  const busy = [
    line('raised', 5),
    line('acknowledged', 5.5),
    line('shelved', 6),
    line('in service', 7),
    line('cannot tell', 7.5),
    line('cleared', 8),
    line('freed', 8),
  ];
  expect(differenceList(quiet, busy, END)).toEqual([]);
});

it('two that became one: the one is longer, the other lost', () => {
  expect(kindsOf([...stood(10, 12), ...stood(13, 20)], stood(10, 20))).toEqual([
    'nr-low: earlier, longer',
    'nr-low: lost',
  ]);
});

it('joins in the order of time, so that a long shift does not make one lost and one new', () => {
  const before = [...stood(0, 100), ...stood(101, 201)];
  const after = [...stood(60, 160), ...stood(161, 261)];
  expect(kindsOf(before, after)).toEqual(['nr-low: later', 'nr-low: later']);
});

it('tells times, values, levels and durations, with null for what is none', () => {
  const [change] = differenceList(
    [line('raised', 5, { value: Number.NaN, limitValue: Number.NaN }), line('cleared', 8)],
    stood(6),
    END,
  );
  expect(change).toEqual({
    alarm: 'nr-low',
    family: 'aircraft',
    kinds: ['later', 'longer'],
    before: { from: 5e6, to: 8e6, stands: false, level: 'caution', value: null, limitValue: null },
    after: { from: 6e6, to: END, stands: true, level: 'caution', value: 96, limitValue: 97 },
    startsBy: 1e6,
    lastsBy: END - 9e6,
  });
  expect(JSON.parse(JSON.stringify(change))).toEqual(change);
});

it('reads as a table', () => {
  expect(differenceText([])).toBe('no difference');
  const text = differenceText(differenceList([...stood(5, 8), ...stood(100, 101)], stood(6, 8), END));
  expect(text.split('\n')).toEqual([
    'alarm   difference      level    begins                        lasts               begins by  lasts by',
    'nr-low  later, shorter  caution  00:00:05.000 -> 00:00:06.000  3.000 s -> 2.000 s  +1.000 s   -1.000 s',
    'nr-low  lost            caution  00:01:40.000                  1.000 s',
  ]);
});

describe('over random alarm lists', () => {
  const seed = 4_2026;
  /** Lines of a few alarms: each a run of gaps and durations in milliseconds, and the level reached. */
  const spans = fc.array(
    fc.record({
      gap: fc.integer({ min: 0, max: 30_000 }),
      length: fc.integer({ min: 0, max: 30_000 }),
      level: fc.constantFrom<Level>(...levels),
    }),
    { maxLength: 12 },
  );
  const listOf = (alarms: { gap: number; length: number; level: Level }[][], shiftMs = 0): AlarmEvent[] =>
    alarms.flatMap((of, n) => {
      let at = 1000 + shiftMs;
      return of.flatMap(({ gap, length, level }) => {
        at += gap + 1;
        const raised = line('raised', at / 1000, { alarm: `alarm-${n}`, level });
        at += length;
        return [raised, line('cleared', at / 1000, { alarm: `alarm-${n}` })];
      });
    });
  const lists = fc.array(spans, { maxLength: 4 });

  it('a list does not differ from itself', () => {
    fc.assert(
      fc.property(lists, (alarms) => {
        expect(differenceList(listOf(alarms), listOf(alarms), END)).toEqual([]);
      }),
      { seed },
    );
  });

  it('the other way round new is lost, earlier is later, longer is shorter, higher is lower', () => {
    const mirror: Record<DifferenceKind, DifferenceKind> = {
      new: 'lost',
      lost: 'new',
      earlier: 'later',
      later: 'earlier',
      longer: 'shorter',
      shorter: 'longer',
      higher: 'lower',
      lower: 'higher',
    };
    const sorted = (changes: AlarmChange[]) => changes.map((change) => JSON.stringify(change)).sort();
    fc.assert(
      fc.property(lists, lists, (x, y) => {
        const there = differenceList(listOf(x), listOf(y), END);
        const back = differenceList(listOf(y), listOf(x), END);
        const mirrored = back.map(({ alarm, family, kinds, before, after, startsBy, lastsBy }) => ({
          alarm,
          family,
          kinds: kinds.map((kind) => mirror[kind]),
          before: after,
          after: before,
          startsBy: 0 - startsBy,
          lastsBy: 0 - lastsBy,
        }));
        expect(sorted(mirrored)).toEqual(sorted(there));
      }),
      { seed },
    );
  });

  it('moved as a whole by less than the gaps between, every alarm is later by exactly that', () => {
    fc.assert(
      fc.property(lists, fc.integer({ min: 1, max: 9_999 }), (alarms, shiftMs) => {
        const apart = alarms.map((of) => of.map((span) => ({ ...span, gap: span.gap + 20_000 })));
        const changes = differenceList(listOf(apart), listOf(apart, shiftMs), END);
        expect(changes).toHaveLength(apart.flat().length);
        for (const { kinds, startsBy, lastsBy } of changes) {
          expect(kinds).toEqual(['later']);
          expect(startsBy).toBe(shiftMs * 1000);
          expect(lastsBy).toBe(0);
        }
      }),
      { seed },
    );
  });

  it('every occurrence of both lists is accounted for once, and joins do not cross', () => {
    fc.assert(
      fc.property(spans, spans, (x, y) => {
        const [before, after] = [listOf([x]), listOf([y])];
        const changes = differenceList(before, after, END);
        const first = occurrencesOf(before, END).get('alarm-0')?.list ?? [];
        const second = occurrencesOf(after, END).get('alarm-0')?.list ?? [];
        const key = ({ from, to, level }: Occurrence) => `${from} ${to} ${level}`;
        const lost = changes.filter(({ after: is }) => is === null);
        const gained = changes.filter(({ before: was }) => was === null);
        expect(first.length - lost.length).toBe(second.length - gained.length);
        const told = changes.flatMap(({ before: was }) => (was === null ? [] : [key(was)]));
        expect(new Set(told).size).toBe(told.length);
        const joint = changes.filter(({ before: was, after: is }) => was !== null && is !== null);
        joint.sort((a, b) => (a.before as Occurrence).from - (b.before as Occurrence).from);
        for (let i = 1; i < joint.length; i++) {
          const [p, q] = [joint[i - 1]?.after as Occurrence, joint[i]?.after as Occurrence];
          expect(q.from).toBeGreaterThanOrEqual(p.from);
        }
      }),
      { seed },
    );
  });
});
