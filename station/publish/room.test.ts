import { describe, expect, it } from 'vitest';
import type { AlarmState } from '../../protocol/alarm.ts';
import { emptyStream, type RoomView } from '../../protocol/fold.ts';
import { levelNumber } from '../../protocol/limit.ts';
import { aircraftTime, groundTime } from '../../protocol/time.ts';
import { decodeToDisplay } from '../../protocol/wire.ts';
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

describe('a long flight as displays are told of it', () => {
  it('has every open call, the newest closed ones, and the newest marks', () => {
    const times = { aircraft: aircraftTime(1), ground: groundTime(2) };
    const calls = Array.from({ length: 250 }, (_, i): RoomView['calls'][number] => ({
      ...{ number: i + 1, stopClass: 1, word: 'W', reason: 'r', caller: 'c', person: 'p', alarm: '', key: '' },
      ...{ madeAircraft: aircraftTime(0), madeGround: groundTime(0), decision: '', steps: [] },
      step: i === 3 ? 'review' : 'closed',
    }));
    const marks = Array.from({ length: 250 }, (_, i) => ({ ...times, person: 'p', text: `${250 - i}` }));
    const flight = { number: '', crew: '', note: '', closed: false };
    const rest = { phase: '', floods: [], changes: [], stream: emptyStream() };
    const room: RoomView = { alarms: [], cannotTell: [], calls, marks, flight, receivers: [], ...rest };
    const around = { groundUs: 3, aircraftUs: 3, recording: { state: 'recording' }, dropped: 0 };
    const { room: sent } = decodeToDisplay(encodeRoom(room, around));
    expect(sent?.calls?.map(({ number }) => number)).toEqual([4, ...Array.from({ length: 100 }, (_, i) => 151 + i)]);
    expect(sent?.marks?.map(({ text }) => text)).toEqual(Array.from({ length: 100 }, (_, i) => `${250 - i}`));
  });
});
