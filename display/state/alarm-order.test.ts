import { describe, expect, it } from 'vitest';
import { availabilityCounts, foldAt, needsAcknowledge, orderAlarms, standings } from './alarm-order.ts';
import { groundTime } from '../../protocol/time.ts';
import { type RoomAlarm, roomFrom } from './room.ts';

const alarm = (more: Partial<RoomAlarm>): RoomAlarm => ({
  ...(roomFrom({ alarms: [{}] }).alarms[0] as RoomAlarm),
  level: 'caution',
  condition: 'outside',
  held: true,
  parameter: 'NR',
  ...more,
});

describe('alarm order', () => {
  it('puts what this position has not acknowledged first, then the higher level, then the newer', () => {
    const alarms = [
      alarm({ id: 'cleared', level: 'stop', held: false, condition: 'inside' }),
      alarm({ id: 'seen', level: 'warning', acknowledgedBy: ['engine'] }),
      alarm({ id: 'old', aircraft: 1 }),
      alarm({ id: 'new', aircraft: 2 }),
      alarm({ id: 'data', family: 'data', aircraft: 3 }),
      alarm({ id: 'worst', level: 'warning', aircraft: 0 }),
    ];
    expect(orderAlarms(alarms, 'engine').map((a) => a.id)).toEqual(['worst', 'new', 'old', 'data', 'seen', 'cleared']);
  });

  it("never takes another position's acknowledgement for this one's", () => {
    const seen = alarm({ acknowledgedBy: ['engine'] });
    expect(needsAcknowledge(seen, 'engine')).toBe(false);
    expect(needsAcknowledge(seen, 'test conductor')).toBe(true);
  });

  it('says of a parameter the highest level held, whether it is outside, and whether it cannot be told', () => {
    const alarms = [
      alarm({ id: 'a', level: 'caution', condition: 'inside' }),
      alarm({ id: 'b', level: 'warning', condition: 'cannot tell' }),
      alarm({ id: 'c', parameter: 'TQ', held: false, condition: 'inside' }),
    ];
    const byParameter = standings(alarms, 'engine');
    expect(byParameter.get('NR')).toEqual({ level: 'warning', outside: false, cannotTell: true, acknowledged: false });
    expect(byParameter.has('TQ')).toBe(false);
    expect(standings(alarms, 'engine', 'id').get('a')).toMatchObject({ level: 'caution', cannotTell: false });
  });

  it('takes an alarm without a condition for one that cannot be told, never for one that is inside', () => {
    expect(roomFrom({ alarms: [{ id: 'x' }] }).alarms[0]?.condition).toBe('cannot tell');
  });

  it('asks nothing of anybody for an alarm that is put aside, and counts it', () => {
    const shelved = alarm({ availability: 'shelved' });
    expect(needsAcknowledge(shelved, 'engine')).toBe(false);
    expect(availabilityCounts([shelved, alarm({}), alarm({ availability: 'out of service' })])).toEqual({
      'in service': 1,
      shelved: 1,
      'suppressed by design': 0,
      'out of service': 1,
    });
  });

  it('folds what the station folds at this position, never the first cause, and nothing at another position', () => {
    const alarms = [
      alarm({ id: 'bus' }),
      alarm({ id: 'a' }),
      alarm({ id: 'b' }),
      alarm({ id: 'free', held: false }),
      alarm({ id: 'aside', availability: 'shelved' }),
    ];
    const flood = {
      position: 'engine',
      since: groundTime(1),
      firstCause: 'bus',
      folded: ['bus', 'a', 'b', 'free', 'aside', 'unknown'],
    };
    const fold = foldAt(alarms, [flood], 'engine');
    expect(fold?.first?.id).toBe('bus');
    expect(fold?.folded.map(({ id }) => id)).toEqual(['a', 'b']);
    expect(foldAt(alarms, [flood], 'test conductor')).toBeUndefined();
    expect(foldAt(alarms, [{ ...flood, firstCause: '' }], 'engine')?.first).toBeUndefined();
  });
});
