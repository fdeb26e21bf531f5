import { describe, expect, it } from 'vitest';
import type { AlarmDefinition, AlarmState } from '../../protocol/alarm.ts';
import { emptyStream, type RoomView } from '../../protocol/fold.ts';
import { levelNumber, levels } from '../../protocol/limit.ts';
import type { LimitChange } from '../../protocol/limit-change.ts';
import type { Prompt, StopCallState } from '../../protocol/stop-call.ts';
import { aircraftTime, groundTime } from '../../protocol/time.ts';
import { decodeToDisplay, limitValuesFromWire, type WireAlarm } from '../../protocol/wire.ts';
import { stopCallOf } from '../../test/support/stop-call.ts';
import { encodeRoom } from './room.ts';

const alarm = (more: Partial<AlarmState>): RoomView['alarms'][number] => ({
  definition: {
    id: 'oil',
    family: 'aircraft',
    parameter: 'T',
    text: 'Oil',
    firstAction: 'say it',
    watcher: 'engine',
    shelvable: true,
    removable: true,
    suppressIn: [],
    causedBy: [],
    stopClass: 1,
  },
  state: {
    condition: 'outside',
    level: levelNumber('caution'),
    latch: 'free',
    availability: 'in service',
    acknowledgedBy: [],
    aircraft: aircraftTime(1),
    ground: groundTime(2),
    cleared: aircraftTime(0),
    value: 1,
    limitValue: 0,
    peak: 1,
    detail: '',
    asideBy: '',
    asideReason: '',
    asideUntil: groundTime(0),
    ...more,
  },
});

function held(of: RoomView['alarms'][number]): boolean {
  const flight = { number: '', crew: '', note: '', closed: false };
  const room: RoomView = {
    alarms: [of],
    cannotTell: [],
    calls: [],
    marks: [],
    flight,
    receivers: [],
    phase: '',
    floods: [],
    changes: [],
    prompts: [],
    stream: emptyStream(),
  };
  const { room: sent } = decodeToDisplay(
    encodeRoom(room, { groundUs: 3, aircraftUs: 3, recording: { state: 'recording' }, dropped: 0 }),
  );
  return sent?.alarms?.[0]?.held ?? false;
}

describe('an alarm as displays are told of it', () => {
  it('is held while outside, latched or not', () => {
    expect(held(alarm({}))).toBe(true);
    expect(held(alarm({ level: levelNumber('warning'), latch: 'held' }))).toBe(true);
  });

  it('is held while nobody can tell whether it is still outside', () => {
    expect(held(alarm({ condition: 'cannot tell' }))).toBe(true);
  });

  it('is held after clearing as long as its latch is, and not beyond', () => {
    expect(held(alarm({ condition: 'inside', level: levelNumber('warning'), latch: 'held' }))).toBe(true);
    expect(held(alarm({ condition: 'inside', level: 0 }))).toBe(false);
  });
});

const around = { groundUs: 3, aircraftUs: 3, recording: { state: 'recording' }, dropped: 0 };

/** What a display reads of the room when this is all there is. */
function sentOf(more: Partial<RoomView>, groundUs = 3): NonNullable<ReturnType<typeof decodeToDisplay>['room']> {
  const room: RoomView = {
    ...{ alarms: [], cannotTell: [], calls: [], marks: [], receivers: [], floods: [], changes: [], prompts: [] },
    ...{ flight: { number: '', crew: '', note: '', closed: false }, phase: '', stream: emptyStream() },
    ...more,
  };
  const { room: sent } = decodeToDisplay(encodeRoom(room, { ...around, groundUs }));
  if (!sent) throw new Error('no room was sent');
  return sent;
}

describe('a long flight as displays are told of it', () => {
  it('has every open call, the newest closed ones, and the newest marks', () => {
    const times = { aircraft: aircraftTime(1), ground: groundTime(2) };
    const calls = Array.from({ length: 250 }, (_, i) =>
      stopCallOf({ number: i + 1, step: i === 3 ? 'review' : 'closed' }),
    );
    const marks = Array.from({ length: 250 }, (_, i) => ({
      ...times,
      person: 'p',
      kind: 'event' as const,
      text: `${250 - i}`,
    }));
    const sent = sentOf({ calls, marks });
    expect(sent.calls?.map(({ number }) => number)).toEqual([4, ...Array.from({ length: 100 }, (_, i) => 151 + i)]);
    expect(sent.marks?.map(({ text }) => text)).toEqual(Array.from({ length: 100 }, (_, i) => `${250 - i}`));
  });
});

describe('a stop call as displays are told of it', () => {
  const facts: StopCallState['facts'] = {
    ...{ parameter: 'NR', level: 'stop', value: 94, limitValue: 95, phase: 'hover', baselineId: 'b', limitChanges: 2 },
    values: [{ parameter: 'NR', value: 94, usable: true }],
    ...{
      stream: 'receiving',
      receivers: [{ name: 'North', state: 'silent' }],
      cannotTell: 3,
      point: 'hover-2',
      gate: 'manoeuvre',
    },
  };
  const evidence: StopCallState['evidence'] = {
    ...{ fromAircraft: aircraftTime(10), toAircraft: aircraftTime(100) },
    ...{ fromGround: groundTime(20), toGround: groundTime(200) },
  };

  it('carries what was known then, its evidence window, and nothing that cannot be told', () => {
    const [call] = sentOf({ calls: [stopCallOf({ kind: 'start', facts, evidence })] }).calls ?? [];
    const { limitValue: limit, ...same } = facts;
    expect(call).toMatchObject({ ...same, limit, kind: 'start', timeToSafeUs: 0, repeatOf: 0, returnOnly: false });
    expect(call?.evidence).toMatchObject({ fromAircraftUs: 10, toAircraftUs: 100, fromGroundUs: 20, toGroundUs: 200 });
    expect(sentOf({ calls: [stopCallOf()] }).calls?.[0]).toMatchObject({ value: Number.NaN, limit: Number.NaN });
  });

  it('has its window open until all of it has passed, and frozen from then on', () => {
    const calls = [stopCallOf({ evidence })];
    expect(sentOf({ calls }, 200).calls?.[0]?.evidence?.frozen).toBe(false);
    expect(sentOf({ calls }, 201).calls?.[0]?.evidence?.frozen).toBe(true);
  });

  it('once closed no longer carries the values, and tells how long it took and what was agreed', () => {
    const [called] = stopCallOf().steps;
    const said = { ...(called as StopCallState['steps'][number]), ground: groundTime(5_000_000) };
    const agreed = { pilotAgrees: true, reasonFound: true, rechecked: true };
    const steps: StopCallState['steps'] = [
      ...stopCallOf().steps,
      { ...said, step: 'safe' },
      { ...said, step: 'closed', agreed },
    ];
    const [call] = sentOf({ calls: [stopCallOf({ facts, steps, step: 'closed', repeatOf: 1 })] }).calls ?? [];
    expect(call).toMatchObject({ values: [], timeToSafeUs: 3_000_000, repeatOf: 1, returnOnly: false });
    expect(call?.steps?.map((step) => [step.pilotAgrees, step.reasonFound, step.rechecked])).toEqual([
      [false, false, false],
      [false, false, false],
      [true, true, true],
    ]);
  });

  it('closes by `return` alone once a cause has come back', () => {
    const calls = [stopCallOf({ step: 'closed' }), stopCallOf({ number: 2, repeatOf: 1 })];
    expect(sentOf({ calls }).calls?.map(({ returnOnly }) => returnOnly)).toEqual([false, true]);
  });
});

it('displays are told of every change of a limit, whole', () => {
  const change: LimitChange = {
    ...{ number: 1, baselineId: 'b', limit: 'nr', tightens: false, reason: 'r', state: 'in force', phase: 'hover' },
    before: { above: { warning: 102 }, persistence: 500_000, hysteresis: 0.5 },
    after: { above: { caution: 103, warning: 104 }, below: { stop: 90 }, persistence: 0, hysteresis: 0 },
    ...{ person: 'p', position: 'engine', ground: groundTime(5), aircraft: aircraftTime(4), note: 'n' },
    ...{ decidedBy: 'd', decidedPosition: 'test director', decidedGround: groundTime(7), from: aircraftTime(6) },
    ...{ offCondition: true, pilotInformed: true },
  };
  const [sent] = sentOf({ changes: [change] }).changes ?? [];
  const { before, after, ground, aircraft, decidedGround, from, ...same } = change;
  expect(sent).toMatchObject({ ...same, groundUs: 5, aircraftUs: 4, decidedGroundUs: 7, fromUs: 6 });
  expect([limitValuesFromWire(sent?.before), limitValuesFromWire(sent?.after)]).toEqual([before, after]);
});

it('displays are told of every stop criterion that is met', () => {
  const prompt: Prompt = {
    ...{ alarm: 'nr', text: 'Rotor speed', parameter: 'NR', stopClass: 2, words: ['STOP TEST', 'HOLD'] },
    ...{ value: 94, limitValue: 95, aircraft: aircraftTime(9), point: 'hover-2' },
  };
  const { limitValue: limit, aircraft: aircraftUs, ...same } = prompt;
  expect(sentOf({ prompts: [prompt] }).prompts).toMatchObject([{ ...same, limit, aircraftUs }]);
});

describe('an alarm that is put aside', () => {
  const sent = (state: Partial<AlarmState>, definition: Partial<AlarmDefinition> = {}): WireAlarm | undefined => {
    const one = alarm(state);
    return sentOf({ alarms: [{ ...one, definition: { ...one.definition, ...definition } }] }).alarms?.[0];
  };

  it('is told with who did it, why, until when, and which of several things it is', () => {
    const aside = { asideBy: 'p', asideReason: 'r', detail: 'channel 2', availability: 'shelved' } as const;
    expect(sent({ ...aside, asideUntil: groundTime(9) })).toMatchObject({ ...aside, asideUntilUs: 9 });
  });

  it('may be shelved at caution and below, and never where there is a stop limit', () => {
    const may = levels.map((level) => sent({ level: levelNumber(level) })?.shelvable);
    expect(may).toEqual([true, true, false, false]);
    expect(sent({ level: 0 })?.shelvable).toBe(true);
    expect(sent({ level: levelNumber('caution') }, { shelvable: false })?.shelvable).toBe(false);
  });

  it('may be taken out of service where its definition lets it', () => {
    expect(sent({})?.removable).toBe(true);
    expect(sent({}, { removable: false })?.removable).toBe(false);
  });
});

it('displays are told of the phase and of every flood', () => {
  const flood = { position: 'engine', since: groundTime(7), firstCause: 'bus', folded: ['a', 'b'] };
  const { since: sinceUs, ...same } = flood;
  expect(sentOf({ phase: 'hover', floods: [flood] })).toMatchObject({
    phase: 'hover',
    floods: [{ ...same, sinceUs }],
  });
});
