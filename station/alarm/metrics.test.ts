import { describe, expect, it } from 'vitest';
import { AlarmRoom } from '../../test/support/alarm-room.ts';
import { group, levelLimit, mission, parameter } from '../../test/support/tiny-mission.ts';
import type { AlarmMetrics, PositionMetrics } from '../../protocol/alarm-metrics.ts';
import { SECOND } from '../../protocol/time.ts';

const limits = Array.from({ length: 12 }, (_, i) =>
  levelLimit(`x${i}`, 'A', {
    watcher: i < 10 ? 'engine' : 'rotor and loads',
    ...(i === 0 && { suppressIn: ['ground'] }),
  }),
);
const phases = {
  parameter: 'PHASE',
  phases: ['ground', 'hover'].map((id) => ({ id, name: id, transitions: [] })),
  hold: 0,
};
const parameters = [parameter('A', 'main'), parameter('PHASE', 'main')];
/** A flight that begins at 1000 s of ground time. */
const flight = (): AlarmRoom =>
  new AlarmRoom(mission({ groups: [group('main', 100)], parameters, phases, limits })).to(1000);
const at = (of: AlarmRoom, position = 'engine'): PositionMetrics =>
  of.alarm.metrics().positions.find((one) => one.position === position) as PositionMetrics;
/** Raises and clears an alarm at these seconds of the flight. */
const pulse = (of: AlarmRoom, limit: number, ...seconds: number[]): AlarmRoom => {
  for (const second of seconds)
    of.to(1000 + second)
      .outside(limit, 'caution')
      .inside(limit);
  return of;
};
const ids = (list: { alarm: string; times: number }[]): Record<string, number> =>
  Object.fromEntries(list.map(({ alarm, times }) => [alarm, times]));

describe('metrics of a flight', () => {
  it('of which nothing has happened are empty', () => {
    const none: AlarmMetrics = {
      from: 0 as AlarmMetrics['from'],
      to: 0 as AlarmMetrics['to'],
      positions: expect.any(Array) as PositionMetrics[],
      priorities: { advisory: 0, caution: 0, warning: 0, stop: 0, data: 0 },
      topTen: [],
      topTenShare: 0,
      chattering: [],
      fleeting: [],
      stale: [],
      standing: [],
      shelved: [],
      outOfService: [],
      suppressed: [],
      noAction: [],
    };
    const before = new AlarmRoom(mission({ groups: [group('main', 100)], parameters, phases, limits }));
    expect(before.alarm.metrics()).toEqual(none);
    expect(before.alarm.metrics().positions.map(({ position }) => position)).toEqual([
      'test director',
      'test conductor',
      'engine',
      'rotor and loads',
      'instrumentation',
    ]);
    for (const { position, ...numbers } of [...before.alarm.metrics().positions, at(flight())]) {
      expect([position, Object.values(numbers).every((n) => n === 0)]).toEqual([position, true]);
    }
    expect(flight().alarm.metrics()).toMatchObject({ from: 1000 * SECOND, to: 1000 * SECOND });
  });

  it('count what is announced at each position: its own, and for those with the whole room in view all', () => {
    const of = flight().outside(0, 'caution').outside(0, 'warning').outside(10, 'advisory').outside(12, 'warning');
    of.inside(10).outside(11, 'stop').to(1300);
    expect(of.alarm.metrics().positions.map(({ position, announced }) => [position, announced])).toEqual([
      ['test director', 5],
      ['test conductor', 5],
      ['engine', 2],
      ['rotor and loads', 2],
      ['instrumentation', 1],
    ]);
    expect(of.alarm.metrics().priorities).toEqual({ advisory: 1, caution: 1, warning: 1, stop: 1, data: 1 });
    expect(of.alarm.metrics()).toMatchObject({ from: 1000 * SECOND, to: 1300 * SECOND });
  });

  it('give the mean in ten minutes over the time flown, of a shorter flight all of it', () => {
    const of = pulse(flight(), 0, 0, 1, 2);
    expect(at(of.to(1300)).mean).toBe(3);
    expect(at(of.to(1600)).mean).toBe(3);
    expect(at(of.to(2200)).mean).toBe(1.5);
  });

  it('find the worst minute, ten minutes and hour, each counted from the start of the flight', () => {
    const of = pulse(flight(), 0, 10, 59.999999, 60, 119, 119.999999, 599.999999, 600);
    expect(at(of)).toMatchObject({ peakMinute: 3, peakMinuteFrom: 1060 * SECOND, peakPeriod: 6, peakHour: 7 });
    // as many again later do not make a later minute the worst; one more does
    expect(at(pulse(of, 0, 3660, 3661, 3662)).peakMinuteFrom).toBe(1060 * SECOND);
    expect(at(pulse(of, 0, 3663))).toMatchObject({ peakMinute: 4, peakMinuteFrom: 4660 * SECOND, peakHour: 7 });
    expect(at(pulse(of, 0, 3664, 3665, 3666, 3667))).toMatchObject({ peakPeriod: 8, peakHour: 8 });
  });

  it('give the share of busy periods: more than ten in ten minutes, more than thirty in an hour', () => {
    const every = (count: number, from: number): number[] => Array.from({ length: count }, (_, i) => from + i * 30);
    const of = pulse(flight(), 0, ...every(10, 0));
    expect(at(of).busyPeriods).toBe(0);
    pulse(of, 0, 599);
    expect(at(of)).toMatchObject({ busyPeriods: 1, busyHours: 0 });
    pulse(of, 0, 600, ...every(12, 1200));
    expect(at(of).busyPeriods).toBe(2 / 3);
    pulse(of, 0, ...every(6, 1800));
    expect(at(of)).toMatchObject({ busyPeriods: 2 / 4, busyHours: 0 });
    pulse(of, 0, 3599);
    expect(at(of)).toMatchObject({ busyPeriods: 2 / 6, busyHours: 1 });
    expect(at(of.to(1000 + 3600)).busyHours).toBe(1 / 2);
  });

  it('tell floods, and the share of time in them', () => {
    const of = flight();
    for (let i = 0; i < 6; i++) of.outside(i, 'caution');
    expect(at(of.to(1040))).toMatchObject({ floods: 1, floodTime: 40 * SECOND, floodShare: 1 });
    expect(at(of.to(1240))).toMatchObject({ floods: 1, floodTime: 60 * SECOND, floodShare: 0.25 });
    expect(at(of, 'rotor and loads')).toMatchObject({ floods: 0, floodTime: 0, floodShare: 0 });
    expect(at(of, 'test director').floods).toBe(1);
  });

  it('rank the ten announced most often, with their share', () => {
    const of = flight();
    for (let i = 0; i < 12; i++) pulse(of, i, ...Array.from({ length: i === 11 ? 9 : 1 }, (_, k) => k));
    const { topTen, topTenShare } = of.alarm.metrics();
    expect(topTen.map(({ alarm }) => alarm)).toEqual(['x11', ...Array.from({ length: 9 }, (_, i) => `x${i}`)]);
    expect(topTen[0]).toEqual({ alarm: 'x11', announced: 9, share: 0.45 });
    expect(topTenShare).toBeCloseTo(0.9, 12);
  });

  it('count an activation that is the third within a minute as chattering, also while it is aside', () => {
    const of = pulse(flight(), 0, 0, 30, 60);
    expect(of.alarm.metrics().chattering).toEqual([]);
    pulse(of, 1, 100, 101, 159.999999, 160.5, 300);
    of.takeOut('engine', 'x2');
    pulse(of, 2, 400, 401, 402);
    expect(ids(of.alarm.metrics().chattering)).toEqual({ x1: 2, x2: 1 });
  });

  it('count what clears before anybody could act, and is not activated within a minute before or after, as fleeting', () => {
    const of = flight();
    const stands = (limit: number, from: number, to: number) =>
      of
        .to(1000 + from)
        .outside(limit, 'caution')
        .to(1000 + to)
        .inside(limit);
    stands(0, 0, 3.999999);
    expect(ids(of.alarm.metrics().fleeting)).toEqual({ x0: 1 });
    stands(0, 60, 63);
    stands(0, 300, 303);
    expect(ids(of.alarm.metrics().fleeting)).toEqual({ x0: 3 });
    stands(1, 400, 404);
    stands(2, 500, 501);
    stands(2, 559.999999, 561);
    stands(3, 600, 620);
    stands(3, 659, 660);
    stands(4, 700, 701);
    of.to(1000 + 730).outside(4, 'caution');
    expect(ids(of.alarm.metrics().fleeting)).toEqual({ x0: 3 });
  });

  it('name what stood for more than a day, and what stands at the end, since when', () => {
    const of = flight().outside(0, 'caution').outside(1, 'caution').outside(2, 'caution');
    of.to(1000 + 86_400).inside(0);
    of.to(1000 + 86_401)
      .inside(1)
      .outside(3, 'caution');
    const { stale, standing } = of.alarm.metrics();
    expect(stale).toEqual(['x1', 'x2']);
    expect(standing).toEqual([
      { alarm: 'x2', since: 1000 * SECOND },
      { alarm: 'x3', since: 87_401 * SECOND },
    ]);
  });

  it('count as stale what stands for more than a day, and not for a day to the microsecond', () => {
    const of = flight().outside(0, 'caution');
    expect(of.to(1000 + 86_400).alarm.metrics().stale).toEqual([]);
    expect(of.to(1000 + 86_400.000001).alarm.metrics().stale).toEqual(['x0']);
  });

  it('count each alarm for itself, also beside another in the list', () => {
    const of = pulse(flight(), 1, 0);
    pulse(of, 0, 15);
    pulse(of, 1, 20);
    expect(of.alarm.metrics().chattering).toEqual([]);
    pulse(of, 1, 30);
    expect(ids(of.alarm.metrics().chattering)).toEqual({ x1: 1 });
  });

  it('begin at the first moment, whichever that is', () => {
    const of = new AlarmRoom(mission({ limits: [] })).to(0).to(100);
    expect(of.alarm.metrics()).toMatchObject({ from: 0, to: 100 * SECOND });
  });

  it('list what was shelved and taken out of service: who, why, how long', () => {
    const of = pulse(flight(), 0, 0).outside(1, 'caution');
    of.shelve('engine', 'x0', 'noise', 30);
    of.shelve('test director', 'x1', 'known', 0);
    of.to(1100);
    of.takeOut('engine', 'x1', 'broken');
    of.to(1150);
    of.takeOut('engine', 'x2', 'spare');
    of.putBack('test conductor', 'x1');
    of.to(1200);
    const who = { person: 'p-engine', position: 'engine' };
    const { shelved, outOfService } = of.alarm.metrics();
    expect(shelved).toEqual([
      { alarm: 'x0', ...who, reason: 'noise', from: 1000 * SECOND, to: 1030 * SECOND, lasted: 30 * SECOND },
      {
        alarm: 'x1',
        person: 'p-test director',
        position: 'test director',
        reason: 'known',
        from: 1000 * SECOND,
        to: 1100 * SECOND,
        lasted: 100 * SECOND,
      },
    ]);
    expect(outOfService).toEqual([
      { alarm: 'x1', ...who, reason: 'broken', from: 1100 * SECOND, to: 1150 * SECOND, lasted: 50 * SECOND },
      { alarm: 'x2', ...who, reason: 'spare', from: 1150 * SECOND, to: 0, lasted: 50 * SECOND },
    ]);
  });

  it('end the shelf that ended, and count nothing for what comes back at rest', () => {
    const of = pulse(pulse(flight(), 0, 0), 1, 0);
    of.shelve('engine', 'x0', 'noise', 500);
    of.shelve('engine', 'x1', 'noise', 500);
    of.to(1100);
    of.unshelve('engine', 'x1');
    const { shelved, priorities } = of.alarm.metrics();
    expect(shelved.map(({ alarm, to }) => [alarm, to])).toEqual([
      ['x0', 0],
      ['x1', 1100 * SECOND],
    ]);
    expect(priorities).toMatchObject({ caution: 2, stop: 0 });
    expect(of.alarm.metrics().noAction).toEqual([]);
  });

  it('keep the activations of one alarm apart from those of the next, and let no time go back', () => {
    const of = pulse(flight(), 2, 0, 40);
    pulse(of, 1, 41, 42, 43, 44, 45);
    pulse(of, 2, 59);
    expect(ids(of.alarm.metrics().chattering)).toEqual({ x1: 3, x2: 1 });
    of.to(1300);
    of.now = 1200;
    expect(of.outside(3, 'caution').alarm.metrics().to).toBe(1300 * SECOND);
  });

  it('tell how often and how long an alarm was suppressed, and do not count it as announced meanwhile', () => {
    const of = flight().phase('ground').outside(0, 'caution').outside(0, 'warning').to(1010).phase('hover');
    expect(at(of).announced).toBe(1);
    expect(of.alarm.metrics().priorities).toMatchObject({ caution: 0, warning: 1 });
    of.to(1100).phase('ground').to(1105);
    expect(of.alarm.metrics().suppressed).toEqual([{ alarm: 'x0', times: 2, lasted: 15 * SECOND }]);
    of.takeOut('engine', 'x0');
    of.to(1200);
    expect(of.alarm.metrics().suppressed).toEqual([{ alarm: 'x0', times: 2, lasted: 15 * SECOND }]);
    of.putBack('engine', 'x0');
    expect(of.to(1201).alarm.metrics().suppressed).toEqual([{ alarm: 'x0', times: 3, lasted: 16 * SECOND }]);
  });

  it('count announcements after which nobody acknowledged, put aside or called a stop', () => {
    const of = flight();
    pulse(of, 0, 0, 100, 200);
    of.to(1300).outside(1, 'caution');
    of.acknowledge('test director', 'x1');
    of.outside(1, 'warning').outside(2, 'caution');
    of.shelve('engine', 'x2');
    of.outside(3, 'caution');
    of.takeOut('engine', 'x3');
    of.outside(4, 'caution').outside(5, 'caution').outside(5, 'warning');
    of.acknowledge('engine', 'x5');
    const of2 = of.alarm.metrics();
    expect(ids(of2.noAction)).toEqual({ x0: 3, x1: 1, x4: 1, x5: 1 });
    expect(ids(of.alarm.metrics(['x4', 'x0']).noAction)).toEqual({ x1: 1, x5: 1 });
  });

  it('go on after a restore as if nothing had happened', () => {
    const of = pulse(flight(), 0, 0, 1, 2).outside(1, 'caution').phase('ground');
    of.shelve('engine', 'x1');
    const other = pulse(flight(), 5, 0, 1, 2, 700).phase('ground');
    other.shelve('engine', 'x5');
    const saved = structuredClone(of.alarm.save());
    other.alarm.restore(saved);
    for (const one of [of, other]) {
      pulse(one.to(2000), 0, 1001, 1002).phase('hover');
      one.unshelve('engine', 'x1');
    }
    expect(other.alarm.metrics()).toEqual(of.alarm.metrics());
    const { metrics } = saved as { metrics: { counts: Record<string, unknown>; spans: Record<string, unknown> } };
    const { open: _, ...counts } = metrics.counts;
    expect(() => other.alarm.restore({ ...(saved as object), metrics: { ...metrics, counts } })).toThrow(
      'saved alarm metrics lack open',
    );
    const { hour: __, ...spans } = metrics.spans;
    expect(() => other.alarm.restore({ ...(saved as object), metrics: { ...metrics, spans } })).toThrow(
      'saved alarm metrics lack, by the span, span',
    );
    expect(() => other.alarm.restore({ ...(saved as object), metrics: undefined })).toThrow('saved alarm metrics lack');
  });
});
