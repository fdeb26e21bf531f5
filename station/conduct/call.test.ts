import { describe, expect, it } from 'vitest';
import { derived, levelLimit, mission, parameter } from '../../test/support/tiny-mission.ts';
import { stopCallOf } from '../../test/support/stop-call.ts';
import type { ActionEntry, StopCallAction } from '../../protocol/entry.ts';
import { emptyLatest, emptyStream, type RoomView } from '../../protocol/fold.ts';
import { levelNumber } from '../../protocol/limit.ts';
import type { StopCallState, StopCallStep } from '../../protocol/stop-call.ts';
import { aircraftTime, groundTime } from '../../protocol/time.ts';
import { Validity } from '../../protocol/validity.ts';
import { evidenceOf, factsOf, makeCall, watchedColumns } from './call.ts';
import type { Situation } from './situation.ts';

const NOW = groundTime(200_000_000);
const NEWEST = aircraftTime(190_000_000);
const words = { class1: ['KNOCK IT OFF'], class2: ['STOP TEST'], start: ['ABORT START'] };
const { facts } = stopCallOf();

const entry: ActionEntry = {
  kind: 'action',
  ground: NOW,
  person: 'ash',
  position: 'engine',
  request: 1,
  action: { act: 'close flight' },
};
const action = (more: Partial<StopCallAction> = {}): StopCallAction => ({
  act: 'stop call',
  stopClass: 1,
  word: 'KNOCK IT OFF',
  reason: 'vibration',
  caller: '',
  alarm: '',
  ...more,
});
const call = (more: Partial<StopCallAction> = {}, before: StopCallState[] = [], newest = NEWEST): StopCallState =>
  makeCall(entry, action(more), words, before, facts, newest);

describe('a stop call as it is logged', () => {
  it('has what was said, who logged it, both clocks, and what was known', () => {
    const made = { aircraft: 180_000_000, ground: 185_000_000 };
    const said = { word: ' knock it off ', reason: ' TOT ', caller: ' test pilot ', alarm: 'tot', key: 'a1', made };
    expect(call(said)).toEqual({
      ...{ number: 1, stopClass: 1, kind: 'flight', word: 'knock it off', reason: 'TOT', caller: 'test pilot' },
      ...{ person: 'ash', alarm: 'tot', key: 'a1', madeAircraft: 180_000_000, madeGround: 185_000_000 },
      ...{ step: 'called', decision: '', facts, repeatOf: 0 },
      steps: [{ step: 'called', person: 'ash', position: 'engine', ground: NOW, aircraft: NEWEST, note: '' }],
      evidence: {
        ...{ fromAircraft: 150_000_000, toAircraft: 240_000_000 },
        ...{ fromGround: 155_000_000, toGround: 245_000_000 },
      },
    });
  });

  it('has its number, no key and no time when none is told, and the voice of the one who logged it', () => {
    expect(call({}, [stopCallOf(), stopCallOf()])).toMatchObject({
      ...{ number: 3, key: '', madeAircraft: 0, madeGround: 0, caller: 'engine' },
    });
  });

  it('has the class and kind of its word', () => {
    expect(call({ stopClass: 2, word: 'STOP TEST' })).toMatchObject({ stopClass: 2, kind: 'flight' });
    expect(call({ stopClass: 2, word: 'HALT' })).toMatchObject({ stopClass: 1, kind: 'flight', word: 'HALT' });
    expect(call({ stopClass: 2, word: 'abort start' })).toMatchObject({ stopClass: 1, kind: 'start' });
    expect(call({ stopClass: 1, word: 'STOP TEST' })).toMatchObject({ stopClass: 1 });
  });

  it('does not believe times that are none or lie ahead', () => {
    const at = (aircraft: number, ground: number) => call({ made: { aircraft, ground } });
    expect(at(Number.NaN, 201_000_000)).toMatchObject({ madeAircraft: 0, madeGround: 201_000_000 });
    expect(at(-1, 201_000_001)).toMatchObject({ madeAircraft: 0, madeGround: 0 });
  });
});

describe('the evidence window of a call', () => {
  const window = (madeAircraft: number, madeGround: number, newest: number = NEWEST): (number | undefined)[] => {
    const made = { madeAircraft: aircraftTime(madeAircraft), madeGround: groundTime(madeGround) };
    const { fromAircraft, toAircraft, fromGround, toGround } = evidenceOf(made, NOW, aircraftTime(newest));
    return [fromAircraft, toAircraft, fromGround, toGround].map((time) => time / 1_000_000);
  };

  it('is thirty seconds before to sixty after, in both times', () => {
    expect(window(0, 0)).toEqual([160, 250, 170, 260]);
    expect(window(100_000_000, 120_000_000)).toEqual([70, 160, 90, 180]);
    expect(window(100_000_000, 0)).toEqual([70, 160, 170, 260]);
  });

  it('follows ground time where the aircraft time of a call made earlier is not known', () => {
    expect(window(0, 120_000_000)).toEqual([80, 170, 90, 180]);
  });

  it('does not follow an aircraft time well after the newest sample', () => {
    expect(window(191_000_000, 0)).toEqual([161, 251, 170, 260]);
    expect(window(191_000_001, 0)).toEqual([160, 250, 170, 260]);
  });

  it('knows no aircraft time before the first sample, but the one of the display', () => {
    expect(window(0, 0, 0)).toEqual([0, 0, 170, 260]);
    expect(window(0, 120_000_000, 0)).toEqual([0, 0, 90, 180]);
    expect(window(0, 201_000_000, 0)).toEqual([0, 0, 171, 261]);
    expect(window(100_000_000, 0, 0)).toEqual([70, 160, 170, 260]);
  });

  it('begins no earlier than time does', () => {
    expect(window(10_000_000, 20_000_000)).toEqual([0, 70, 0, 80]);
    // more than the whole flight ago
    expect(window(0, 10_000_000, 100_000_000)).toEqual([0, 0, 0, 70]);
  });
});

describe('a second class 1 call', () => {
  const step = (name: StopCallStep['step'], ground: number): StopCallStep => ({
    ...(stopCallOf().steps[0] as StopCallStep),
    step: name,
    ground: groundTime(ground),
  });
  const safeAt = (ground: number, more: Partial<StopCallState> = {}): StopCallState =>
    stopCallOf({ steps: [step('called', 2), step('safe', ground)], step: 'safe', ...more });

  it('repeats the first one on the same alarm, or with the same reason where either names none', () => {
    const named = safeAt(5, { alarm: 'tot' });
    expect(call({ alarm: 'tot', reason: 'other' }, [named]).repeatOf).toBe(1);
    expect(call({ alarm: 'nr' }, [named]).repeatOf).toBe(0);
    expect(call({ alarm: '', reason: 'Vibration.' }, [named]).repeatOf).toBe(1);
    expect(call({ alarm: '', reason: 'other' }, [named]).repeatOf).toBe(0);
    expect(call({ alarm: 'nr', reason: 'VIBRATION' }, [safeAt(5)]).repeatOf).toBe(1);
    expect(call({}, [safeAt(5)]).repeatOf).toBe(1);
  });

  it('is the same stop as long as the pilot had not declared safe', () => {
    expect(call({}, [stopCallOf()]).repeatOf).toBe(0);
    expect(call({}, [safeAt(200_000_000)]).repeatOf).toBe(1);
    expect(call({}, [safeAt(200_000_001)]).repeatOf).toBe(0);
    const made = { aircraft: 1, ground: 100_000_000 };
    expect(call({ made }, [safeAt(100_000_000)]).repeatOf).toBe(1);
    expect(call({ made }, [safeAt(100_000_001)]).repeatOf).toBe(0);
  });

  it('is only one of two of class 1, and repeats the earliest', () => {
    expect(call({ stopClass: 2, word: 'STOP TEST' }, [safeAt(5)]).repeatOf).toBe(0);
    expect(call({}, [safeAt(5, { stopClass: 2 })]).repeatOf).toBe(0);
    const before = [safeAt(5, { number: 1, reason: 'x' }), safeAt(5, { number: 2 }), safeAt(5, { number: 3 })];
    expect(call({}, before).repeatOf).toBe(2);
  });
});

describe('what was known when a call was made', () => {
  const of = mission({
    parameters: ['A', 'B', 'C', 'D'].map((id) => parameter(id, 'main')),
    derived: [derived('E', 'A', 'A + B')],
    limits: [
      levelLimit('e', 'E', { above: { warning: 1 } }),
      levelLimit('a', 'A', { above: { caution: 1 } }),
      levelLimit('c', 'C', { below: { stop: 1 } }),
      levelLimit('c2', 'C', { above: { warning: 1 } }),
      levelLimit('b', 'B', { byPhase: { hover: { below: { warning: 3 } } } }),
      levelLimit('d', 'D', { below: { advisory: 3 } }),
      levelLimit('gone', 'GONE', { above: { stop: 1 } }),
    ],
  });
  const alarm: RoomView['alarms'][number] = {
    definition: {
      ...{ id: 'c', family: 'aircraft', parameter: 'C', text: 'C', firstAction: 'say', watcher: 'engine' },
      ...{ shelvable: false, removable: false, suppressIn: [], causedBy: [], stopClass: 1 },
    },
    state: {
      ...{ condition: 'outside', level: levelNumber('stop'), latch: 'held', availability: 'in service' },
      ...{ acknowledgedBy: [], aircraft: NEWEST, ground: NOW, cleared: aircraftTime(0), value: 0.5, limitValue: 1 },
      ...{ peak: 0.4, detail: '', asideBy: '', asideReason: '', asideUntil: groundTime(0) },
    },
  };
  const latest = emptyLatest(5);
  latest.value.set([1, 2, 3, 4, 5]);
  latest.validity.set([0, Validity.stale, Validity.extrapolated, 0, Validity.link]);
  const situation: Situation = {
    latest,
    room: () => ({
      ...{ alarms: [alarm], cannotTell: ['x', 'y'], phase: 'hover' },
      receivers: [
        { name: 'North', state: 'silent', frames: 1, damaged: 0, missed: 0, chosen: 1, quality: 1, lastGround: NOW },
      ],
      stream: { ...emptyStream(), state: 'receiving' },
    }),
    judge: () => '',
  };
  const known = { baselineId: 'b', limitChanges: 2, point: 'hover-2', gate: 'manoeuvre' } as const;

  it('is the newest sample of each thing that limits with a warning or a stop watch', () => {
    expect(watchedColumns(of)).toEqual([
      { parameter: 'E', column: 4 },
      { parameter: 'C', column: 2 },
      { parameter: 'B', column: 1 },
    ]);
    const many = mission({
      parameters: Array.from({ length: 70 }, (_, i) => parameter(`P${i}`, 'main')),
      limits: Array.from({ length: 70 }, (_, i) => levelLimit(`l${i}`, `P${i}`, { above: { stop: 1 } })),
    });
    expect(watchedColumns(many).map(({ column }) => column)).toEqual(Array.from({ length: 64 }, (_, i) => i));
  });

  it('is the alarm it answers, the phase, the limits in force, and how good the data were', () => {
    expect(factsOf('c', situation, watchedColumns(of), known)).toEqual({
      ...{ parameter: 'C', level: 'stop', value: 0.5, limitValue: 1, phase: 'hover', ...known },
      values: [
        { parameter: 'E', value: 5, usable: false },
        { parameter: 'C', value: 3, usable: true },
        { parameter: 'B', value: 2, usable: false },
      ],
      ...{ stream: 'receiving', receivers: [{ name: 'North', state: 'silent' }], cannotTell: 2 },
    });
  });

  it('is not a number where nothing is answered, or the alarm never was', () => {
    const nothing = { parameter: '', level: '', value: Number.NaN, limitValue: Number.NaN };
    expect(factsOf('', situation, [], known)).toMatchObject({ ...nothing, values: [] });
    expect(factsOf('a', situation, [], known)).toMatchObject(nothing);
  });

  it('has no usable value of what no sample is known of', () => {
    const { values } = factsOf('', { ...situation, latest: emptyLatest(0) }, watchedColumns(of), known);
    expect(values.map(({ value, usable }) => [value, usable])).toEqual(Array(3).fill([Number.NaN, false]));
  });
});
