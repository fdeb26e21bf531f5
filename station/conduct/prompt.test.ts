import { describe, expect, it } from 'vitest';
import { stopCallOf } from '../../test/support/stop-call.ts';
import type { AlarmDefinition, AlarmState } from '../../protocol/alarm.ts';
import type { TestPoint } from '../../protocol/card.ts';
import { type PointGate, pointGates } from '../../protocol/conduct.ts';
import type { RoomView } from '../../protocol/fold.ts';
import { type LevelNumber, levels } from '../../protocol/limit.ts';
import type { BriefedWords, StopCallState } from '../../protocol/stop-call.ts';
import { aircraftTime, groundTime } from '../../protocol/time.ts';
import { flownPoint, isBeingFlown } from './flown-point.ts';
import { blindPrompt, prompts, unseenPrompts, unseenStops } from './prompt.ts';

const words: BriefedWords = {
  class1: ['KNOCK IT OFF', 'BREAK'],
  class2: ['STOP TEST'],
  start: ['ABORT START'],
  range: ['DESTRUCT'],
};

const alarm = (
  id: string,
  state: Partial<AlarmState> = {},
  definition: Partial<AlarmDefinition> = {},
): RoomView['alarms'][number] => ({
  definition: {
    ...{ id, family: 'aircraft', parameter: 'NR', text: 'Rotor speed', firstAction: 'say', watcher: 'engine' },
    ...{ shelvable: false, removable: false, suppressIn: [], causedBy: [], stopClass: 1 },
    ...definition,
  },
  state: {
    ...{ condition: 'outside', level: 4, latch: 'held', availability: 'in service', acknowledgedBy: [] },
    ...{ aircraft: aircraftTime(90), ground: groundTime(100), cleared: aircraftTime(0), value: 94, limitValue: 95 },
    ...{ peak: 93, detail: '', asideBy: '', asideReason: '', asideUntil: groundTime(0) },
    ...state,
  },
});

const ids = (alarms: RoomView['alarms'], calls: StopCallState[] = [], phase = ''): string[] =>
  prompts(alarms, calls, words, phase).map((prompt) => prompt.alarm);

const called = (ground: number, more: Partial<StopCallState> = {}): StopCallState => {
  const [first] = stopCallOf().steps;
  return stopCallOf({ steps: [{ ...(first as StopCallState['steps'][number]), ground: groundTime(ground) }], ...more });
};

describe('a stop criterion that is met', () => {
  it('is prompted with what it is, its value against the limit, and the briefed words, and nothing stronger', () => {
    expect(prompts([alarm('nr')], [], words, '')).toEqual([
      {
        ...{ alarm: 'nr', text: 'Rotor speed', parameter: 'NR', stopClass: 1, words: ['KNOCK IT OFF', 'BREAK'] },
        ...{ value: 94, limitValue: 95, aircraft: 90, point: '' },
      },
    ]);
  });

  it('is that of an alarm at its stop level, and at no other', () => {
    for (let level = 0; level <= levels.length; level++) {
      expect(ids([alarm('nr', { level: level as LevelNumber })])).toEqual(level === 4 ? ['nr'] : []);
    }
  });

  it('is prompted whatever the alarm does otherwise, as long as it is held', () => {
    for (const availability of ['in service', 'shelved', 'suppressed by design', 'out of service'] as const)
      expect(ids([alarm('nr', { availability })])).toEqual(['nr']);
    for (const condition of ['inside', 'pending', 'outside', 'cannot tell'] as const)
      expect(ids([alarm('nr', { condition })])).toEqual(['nr']);
    expect(ids([alarm('nr', { acknowledgedBy: ['engine', 'test conductor'] })])).toEqual(['nr']);
  });

  it('has the words of its class, and of the start in the phases of the start', () => {
    const of = (stopClass: 1 | 2, phase: string, day = words): string[] =>
      prompts([alarm('nr', {}, { stopClass })], [], day, phase)[0]?.words ?? [];
    expect(of(2, '')).toEqual(['STOP TEST']);
    expect(of(2, 'start')).toEqual(['STOP TEST']);
    expect(of(1, 'hover')).toEqual(['KNOCK IT OFF', 'BREAK']);
    expect(of(1, 'start')).toEqual(['ABORT START']);
    expect(of(1, 'start', { ...words, startPhases: ['light-off', 'spool'] })).toEqual(['KNOCK IT OFF', 'BREAK']);
    expect(of(1, 'spool', { ...words, startPhases: ['light-off', 'spool'] })).toEqual(['ABORT START']);
    expect(of(1, 'start', { class1: ['X'], class2: ['Y'] })).toEqual(['X']);
    expect(of(1, 'start', { class1: ['X'], class2: ['Y'], start: [] })).toEqual(['X']);
  });

  it('is listed with the more severe class first, then what was announced first', () => {
    const at = (ground: number): Partial<AlarmState> => ({ ground: groundTime(ground) });
    const list = [
      alarm('d', at(9), { stopClass: 2 }),
      alarm('b', at(7)),
      alarm('c', at(3), { stopClass: 2 }),
      alarm('a', at(5)),
    ];
    expect(ids(list)).toEqual(['a', 'b', 'c', 'd']);
    expect(list.map(({ definition }) => definition.id)).toEqual(['d', 'b', 'c', 'a']);
  });
});

describe('a call answers a prompt', () => {
  const list = [alarm('nr'), alarm('tot')];

  it('when it names the alarm, or none at all, and was made since the announcement', () => {
    expect(ids(list, [called(100, { alarm: 'nr' })])).toEqual(['tot']);
    expect(ids(list, [called(99, { alarm: 'nr' })])).toEqual(['nr', 'tot']);
    expect(ids(list, [called(100)])).toEqual([]);
    expect(ids(list, [called(99)])).toEqual(['nr', 'tot']);
    expect(ids(list, [called(100, { alarm: 'tq' })])).toEqual(['nr', 'tot']);
    expect(ids(list, [called(100, { alarm: 'nr' }), called(100, { alarm: 'tot' })])).toEqual([]);
  });

  it('by the time at which it was made, however late it was logged', () => {
    expect(ids(list, [called(500, { madeGround: groundTime(99) })])).toEqual(['nr', 'tot']);
    expect(ids(list, [called(500, { madeGround: groundTime(100) })])).toEqual([]);
  });

  it('also when it is closed, until the alarm is announced anew', () => {
    const calls = [called(100, { alarm: 'nr', step: 'closed', decision: 'repeat' })];
    expect(ids([alarm('nr')], calls)).toEqual([]);
    expect(ids([alarm('nr', { ground: groundTime(101) })], calls)).toEqual(['nr']);
  });

  it('when it is of the class asked for, or a more severe one', () => {
    for (const [asked, made, left] of [
      [1, 1, []],
      [1, 2, ['nr']],
      [2, 1, []],
      [2, 2, []],
    ] as const) {
      const one = [alarm('nr', {}, { stopClass: asked })];
      expect(ids(one, [called(100, { alarm: 'nr', stopClass: made })])).toEqual(left);
      expect(ids(one, [called(100, { stopClass: made })])).toEqual(left);
    }
  });
});

describe('a point without data', () => {
  const SECOND = 1_000_000;
  const blind = (seconds: number, point = 'hover') => ({
    ...{ alarm: 'no-telemetry', point, aircraft: aircraftTime(5) },
    ...{ heard: 10 * SECOND, ground: (10 + seconds) * SECOND },
  });
  const due = (of: ReturnType<typeof blind>, calls: StopCallState[] = []) => blindPrompt(of, calls, words);

  it('is due to be stopped by class 2 from 2.0 s on', () => {
    expect(due(blind(1.999_999))).toEqual([]);
    expect(due(blind(2))).toMatchObject([
      { alarm: 'no-telemetry', stopClass: 2, words: ['STOP TEST'], text: 'No telemetry for 2 s on point hover' },
    ]);
  });

  it('is not, where no point that needs the ground is under way, or nothing was ever received', () => {
    expect(due(blind(60, ''))).toEqual([]);
    expect(due({ ...blind(60), heard: 0 })).toEqual([]);
  });

  it('is answered by a call of either class since it fell silent, that names the silence or nothing', () => {
    const at = (seconds: number, more = {}) => [called((10 + seconds) * SECOND, { alarm: '', ...more })];
    expect(due(blind(3), at(1, { stopClass: 2 }))).toEqual([]);
    expect(due(blind(3), at(1, { alarm: 'no-telemetry' }))).toEqual([]);
    expect(due(blind(3), at(1, { alarm: 'nr-low' }))).toHaveLength(1);
    expect(due(blind(3), at(-1))).toHaveLength(1);
  });
});

/** A point with these stop criteria, begun at 80 aircraft and 85 ground time. */
const flownWith = (stops: string[], gate: PointGate = 'on condition') =>
  flownPoint({ id: 'hover', stops, required: [] } as unknown as TestPoint, gate, {
    ...{ aircraft: 80, ground: 85 },
  });

describe('a stop criterion of the point that is flown', () => {
  const of = (list: RoomView['alarms'], calls: StopCallState[] = [], stops = ['nr']) =>
    prompts(list, calls, words, '', flownWith(stops));

  it('is met from warning on, where any other limit is met at its stop level alone; and says so', () => {
    for (let level = 0; level <= levels.length; level++) {
      const list = [alarm('nr', { level: level as LevelNumber }), alarm('tq', { level: level as LevelNumber })];
      const told = of(list).map((prompt) => [prompt.alarm, prompt.point]);
      expect(told).toEqual(
        level === 4
          ? [
              ['nr', 'hover'],
              ['tq', ''],
            ]
          : level === 3
            ? [['nr', 'hover']]
            : [],
      );
    }
  });

  it('has the class of its limit, and the words of that', () => {
    const [one] = of([alarm('nr', { level: 3 }, { stopClass: 2 })]);
    expect(one).toMatchObject({ stopClass: 2, words: ['STOP TEST'], value: 94, limitValue: 95 });
  });

  it('is not met by what was over before the point was begun and is held only', () => {
    expect(of([alarm('nr', { level: 3, cleared: aircraftTime(79), condition: 'inside' })])).toEqual([]);
    expect(of([alarm('nr', { level: 3, cleared: aircraftTime(95), condition: 'inside' })])).toHaveLength(1);
    // raised before, and outside still
    expect(of([alarm('nr', { level: 3, aircraft: aircraftTime(10), ground: groundTime(15) })])).toHaveLength(1);
  });

  it('is answered by a call of this run alone', () => {
    const stands = [alarm('nr', { level: 3, aircraft: aircraftTime(10), ground: groundTime(15) })];
    expect(of(stands, [called(84)])).toHaveLength(1);
    expect(of(stands, [called(85)])).toEqual([]);
    expect(of(stands, [called(90, { alarm: 'nr' })])).toEqual([]);
    expect(of(stands, [called(90, { alarm: 'tq' })])).toHaveLength(1);
    expect(of(stands, [called(90, { stopClass: 2 })])).toHaveLength(1);
  });

  it('is one from the setup until the recovery is over', () => {
    const told = pointGates.map((gate) => [gate, isBeingFlown(gate), flownWith(['nr'], gate).needsGround]);
    expect(told).toEqual([
      ['setup', true, false],
      ['on condition', true, true],
      ['manoeuvre', true, true],
      ['recover', true, true],
      ['admin', false, false],
      ['closed', false, false],
    ]);
  });
});

describe('a stop criterion that cannot tell', () => {
  const SECOND = 1_000_000;
  const sight = (since: Record<string, number>) => ({
    unseen: (limit: string) =>
      since[limit] === undefined ? undefined : { ground: since[limit] * SECOND, aircraft: since[limit] * SECOND - 7 },
  });
  const definitions = new Map([alarm('nr'), alarm('tq')].map(({ definition }) => [definition.id, definition]));
  const due = (
    ground: number,
    since: Record<string, number>,
    calls: StopCallState[] = [],
    flown = flownWith(['nr', 'tq']),
  ) =>
    unseenPrompts(
      unseenStops(flown, sight(since), ground * SECOND),
      flown,
      { calls, words, streamAlarm: 'silent' },
      definitions,
    );
  const at = (seconds: number, alarm_ = '', more = {}) => [called(seconds * SECOND, { alarm: alarm_, ...more })];

  it('asks for class 2 from 2.0 s on, with the point and since when', () => {
    expect(due(11.999_999, { nr: 10 })).toEqual([]);
    expect(due(12, { nr: 10 })).toEqual([
      {
        ...{ alarm: 'nr', text: 'No data for 2 s: Rotor speed', parameter: 'NR', stopClass: 2, words: ['STOP TEST'] },
        ...{ value: Number.NaN, limitValue: Number.NaN, aircraft: 10 * SECOND - 7, point: 'hover' },
      },
    ]);
    expect(due(13, { nr: 10, tq: 11, other: 1 }).map((prompt) => prompt.alarm)).toEqual(['nr', 'tq']);
  });

  it('asks for nothing where no point that needs the ground is under way', () => {
    for (const gate of ['setup', 'admin', 'closed'] as const)
      expect(due(60, { nr: 10 }, [], flownWith(['nr'], gate))).toEqual([]);
    expect(unseenStops(undefined, sight({ nr: 1 }), 60 * SECOND)).toEqual([]);
  });

  it('is answered by a call since then that stops this point', () => {
    for (const name of ['', 'nr', 'tq', 'silent']) {
      expect(due(13, { nr: 10 }, at(10, name))).toEqual([]);
      expect(due(13, { nr: 10 }, at(9.9, name))).toHaveLength(1);
    }
    expect(due(13, { nr: 10 }, at(11, 'other'))).toHaveLength(1);
    // one that is blind from the run before on: what was called then does not stop this run
    const again = { ...flownWith(['nr']), begun: { aircraft: 18 * SECOND, ground: 20 * SECOND } };
    expect(due(21, { nr: 10 }, at(19), again)).toHaveLength(1);
    expect(due(21, { nr: 10 }, at(20), again)).toEqual([]);
    expect(due(13, { nr: 10 }, at(11, '', { stopClass: 2 }))).toEqual([]);
  });
});
