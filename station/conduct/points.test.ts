import { describe, expect, it } from 'vitest';
import { type PointGate, pointGates } from '../../protocol/conduct.ts';
import { SECOND } from '../../protocol/time.ts';
import { at, band, cardMission, lacking, pointOf, Room, signalsOf } from '../../test/support/point-run.ts';
import { gateRefusal, pointSequence } from './point-gates.ts';
import { Points } from './points.ts';

const room = (seconds = 40, of: Parameters<typeof signalsOf>[1] = {}, point = pointOf()): Room =>
  new Room(cardMission([point, pointOf({ id: 'level-90', parent: 'level-80' })]), signalsOf(seconds, of));

/** A run whose record goes from 5 s to 16 s, standing at recover. */
function flown(of: Parameters<typeof signalsOf>[1] = {}, point = pointOf()): Room {
  const made = room(40, of, point).until(1);
  expect(made.act('begin point', { subject: 'level-80' })).toBe('');
  expect(made.until(5).act('enter gate', { number: 1, choice: 'on condition', aircraft: at(5) })).toBe('');
  expect(made.until(16.01).act('enter gate', { number: 1, choice: 'recover', aircraft: at(16) })).toBe('');
  return made;
}

describe('the gates of a point', () => {
  it('follow one another as the table says, every pair of them', () => {
    for (const gate of pointGates)
      for (const next of pointGates)
        expect(gateRefusal(gate, next) === '').toBe((pointSequence[gate] as readonly PointGate[]).includes(next));
    expect(gateRefusal('setup', 'admin')).toBe(
      'admin does not follow setup: on condition or recover or closed may follow',
    );
    expect(gateRefusal('closed', 'setup')).toBe('setup does not follow closed: nothing follows');
    expect(gateRefusal('setup', 'take-off')).toBe('there is no gate take-off');
  });

  it('are entered at the time the display had, which is kept with the ground time', () => {
    const made = flown();
    expect(made.run.gates.map(({ gate, aircraft }) => [gate, (aircraft - at(0)) / SECOND])).toEqual([
      ['setup', 1],
      ['on condition', 5],
      ['recover', 16],
    ]);
    expect(made.run.gates[1]).toMatchObject({
      person: 'test-conductor',
      position: 'test conductor',
      ground: 60_000_000,
    });
    expect(made.run).toMatchObject({ recordFrom: at(5), recordTo: at(16), recorded: 11 * SECOND });
  });

  it('are not entered before the one before, after the newest sample, or long ago', () => {
    const made = room().until(1);
    made.act('begin point', { subject: 'level-80' });
    made.until(20);
    const enter = (seconds: number, choice = 'on condition') =>
      made.act('enter gate', { number: 1, choice, aircraft: at(seconds) });
    expect(enter(0.5)).toBe('that was before setup was entered, at 10:00:01.000');
    expect(enter(21.5)).toBe('that lies after the newest sample');
    expect(enter(5)).toBe('that was 15.0 s ago: a gate is logged within 10 s');
    expect(made.act('enter gate', { number: 1, choice: 'on condition', aircraft: -1 })).toBe(
      '-1 is not an aircraft time',
    );
    expect(enter(15)).toBe('');
    expect(made.act('enter gate', { number: 2, choice: 'recover' })).toBe('there is no run 2');
  });

  it('go back to setup when it has fallen off condition, and the record begins anew', () => {
    const made = room().until(1);
    made.act('begin point', { subject: 'level-80' });
    made.until(5).act('enter gate', { number: 1, choice: 'on condition' });
    made.until(8).act('enter gate', { number: 1, choice: 'setup' });
    expect(made.run).toMatchObject({
      gate: 'setup',
      recordFrom: 0,
      recorded: 0,
      statistics: [],
      offer: 'on condition',
    });
    made.until(12).act('enter gate', { number: 1, choice: 'on condition' });
    expect(made.until(13).run).toMatchObject({ recordFrom: at(12) });
  });
});

describe('beginning a point', () => {
  it('is refused without such a point, with a call open, with a run open, by the step gate, and without data', () => {
    const made = room().until(1);
    const begin = (subject = 'level-80') => made.act('begin point', { subject });
    expect(begin('level-70')).toBe('there is no point level-70');
    made.step = 'no step is cleared while anomaly 1 is open';
    expect(begin()).toBe(made.step);
    made.step = '';
    made.stream = 'silent';
    expect(begin()).toBe('no data: the stream is silent');
    made.stream = 'receiving';
    made.call(0.5);
    expect(begin()).toBe('stop call 1 is open: it closes by a decision first');
    (made.calls[0] as { step: string }).step = 'closed';
    expect(begin()).toBe('');
    expect(begin()).toBe('run 1, of level-80, is not closed: it stands at setup');
  });

  it('says which parameters bring nothing', () => {
    const made = room().until(1);
    const moment = made.moment();
    moment.latest.validity[0] = 11;
    moment.latest.validity[3] = 17;
    // one that comes and is out of its range is no silence
    moment.latest.validity[1] = 13;
    const act = {
      act: 'begin point',
      subject: 'level-80',
      number: 0,
      choice: '',
      text: '',
      value: 0,
      aircraft: 0,
    } as const;
    const points = new Points(made.mission);
    const entry = { person: 'tc', position: 'test conductor', ground: 1 } as never;
    expect(points.act(entry, act, moment)).toBe('no data of MODE (no sample yet), IAS (stale: no new sample in time)');
  });

  it('waits for what it builds up from to be judged good, as it was flown last', () => {
    const made = flown();
    const begin = () => made.act('begin point', { subject: 'level-90' });
    made.act('judge point', { number: 1, choice: 'good' });
    made.act('enter gate', { number: 1, choice: 'closed' });
    expect(begin()).toBe('');
    made.act('judge point', { number: 2, choice: 'skip', text: 'fuel' });
    made.act('enter gate', { number: 2, choice: 'closed' });
    made.act('begin point', { subject: 'level-80' });
    made.act('judge point', { number: 3, choice: 'skip', text: 'fuel' });
    made.act('enter gate', { number: 3, choice: 'closed' });
    expect(begin()).toBe('level-90 builds up from level-80, which is not good: run 3 was judged skip');
    expect(made.points.runs().map(({ point, attempt }) => [point, attempt])).toEqual([
      ['level-80', 1],
      ['level-90', 1],
      ['level-80', 2],
    ]);
    expect(room().until(1).act('begin point', { subject: 'level-90' })).toMatch(/is not good: it was not flown yet$/);
  });
});

describe('on condition', () => {
  it('is offered at the sample at which every band and setting has held for the dwell, and withdrawn when one breaks', () => {
    // airspeed comes into its band at 4.00 s and leaves it at 9.50 s; height, at 50 a second, comes in at 6.02 s
    const made = room(40, {
      IAS: (s) => (s < 4 || s >= 9.5 ? 76.9 : 77),
      ALT: (s) => (s < 6.01 ? 1020.5 : 1020),
    }).until(1);
    made.act('begin point', { subject: 'level-80' });
    made.until(9.02, 20_000);
    expect(made.run).toMatchObject({ offer: '', offered: 0 });
    made.until(9.04, 20_000);
    expect(made.run).toMatchObject({ offer: 'on condition', offered: at(9.02) });
    expect(made.run.bands[0]).toMatchObject({ parameter: 'IAS', value: 77, state: 'inside', since: at(4) });
    made.until(9.51, 10_000);
    expect(made.run).toMatchObject({ offer: '', offered: 0 });
    expect(made.run.bands[0]).toMatchObject({ state: 'outside', since: at(9.5) });
  });

  it('is not told over samples that are missing or cannot be used', () => {
    for (const how of ['gone', 'unusable'] as const) {
      const signals = signalsOf(20);
      const made = new Room(cardMission(), { ...signals, ALT: lacking(signals.ALT, 3, 3.7, how) }).until(1);
      made.act('begin point', { subject: 'level-80' });
      expect(made.until(3.6).run.bands[1]).toMatchObject({ parameter: 'ALT', state: 'cannot tell' });
      expect(made.until(6.7).run.offer).toBe('');
      expect(made.until(6.72).run).toMatchObject({ offer: 'on condition', offered: at(6.7) });
    }
  });

  it('holds a slow sample no longer than until it is stale', () => {
    const signals = signalsOf(20);
    // all of it is gone for 0.5 s, and then for a little more, which nobody was there to see
    const gap = (length: number) => {
      const cut = Object.fromEntries(
        Object.entries(signals).map(([name, one]) => [name, { ...one }]),
      ) as typeof signals;
      for (const name of ['IAS', 'TQ', 'ALT', 'MODE', 'OAT'] as const) {
        const kept = cut[name].time.flatMap((t, i) => (t <= at(3) || t >= at(3 + length) ? [i] : []));
        const pick = <T>(list: T[]): T[] => kept.map((i) => list[i] as T);
        cut[name] = { time: pick(cut[name].time), value: pick(cut[name].value), usable: pick(cut[name].usable) };
      }
      const made = new Room(cardMission(), cut).until(1);
      made.act('begin point', { subject: 'level-80' });
      return (made.until(12).run.offered - at(0)) / SECOND;
    };
    expect(gap(0.5)).toBe(4);
    expect(gap(0.6)).toBeCloseTo(6.6, 6);
  });

  it('is shown as cannot tell, and not offered, when the newest values have gone stale since', () => {
    const made = room().until(1);
    made.act('begin point', { subject: 'level-80' });
    made.until(6);
    const { latest } = made.moment();
    expect(made.points.runs(latest).at(-1)?.offer).toBe('on condition');
    latest.validity[2] = 11;
    const shown = made.points.runs(latest).at(-1);
    expect(shown?.offer).toBe('');
    expect(shown?.bands.map(({ state }) => state)).toEqual(['inside', 'cannot tell']);
  });
});

describe('the record', () => {
  it('is complete at the sample at which it has the hold and nothing speaks against it', () => {
    const made = room(40, { TQ: (s) => (s >= 5 && s < 5.6 ? 59 : 55) }).until(1);
    made.act('begin point', { subject: 'level-80' });
    made.until(5).act('enter gate', { number: 1, choice: 'on condition', aircraft: at(5) });
    expect(made.until(16.99).run).toMatchObject({ offer: '' });
    // 60 samples of 1,200 are the 5 % that may be outside: with both ends, at 17 s less one sample
    expect(made.until(17).run).toMatchObject({ offer: 'complete', offered: at(16.99) });
  });

  it('begins and ends when that was said, though it is logged seconds later', () => {
    const made = room(40, { IAS: (s) => 80 + (s - 10) / 10 }).until(1);
    made.act('begin point', { subject: 'level-80' });
    made.until(8).act('enter gate', { number: 1, choice: 'on condition', aircraft: at(5) });
    made.until(25).act('enter gate', { number: 1, choice: 'recover', aircraft: at(16) });
    const ias = made.run.statistics.find(({ parameter }) => parameter === 'IAS');
    expect(ias).toMatchObject({ n: 1101, min: 79.5, max: 80.6, dropout: 0, inBand: 1 });
    expect(ias?.mean).toBeCloseTo(80.05, 9);
    expect(ias?.slope).toBeCloseTo(0.1, 9);
    expect(made.run.advice).toEqual({ judgement: 'good', reasons: [] });
  });

  it('keeps its numbers where values are large beside their scatter', () => {
    const made = flown({ OAT: (s) => 1e9 + s });
    const oat = made.run.statistics.find(({ parameter }) => parameter === 'OAT');
    expect(oat).toMatchObject({ n: 12, inBand: null });
    expect(oat?.sd).toBeCloseTo(Math.sqrt(13), 6);
    expect(oat?.slope).toBeCloseTo(1, 6);
  });

  it('says every reason to fly it again, with its numbers', () => {
    expect(flown({ TQ: (s) => (s < 6 ? 58.5 : 55) }).run.advice?.reasons).toEqual([
      'TQ was out of its data band, 52 to 58 %, for 9.1 % of the record; 5 % may be',
    ]);
    expect(flown({ MODE: (s) => (s > 7.9 && s < 8.75 ? 0 : 1) }).run.advice?.reasons).toEqual([
      'wrong configuration: not Flight mode for 0.8 s',
    ]);
    expect(flown({}, pointOf({ hold: 11.04 * SECOND })).run.advice?.reasons).toEqual([
      'the record is 11 s long, and 11.04 s are wanted',
    ]);
  });

  it('counts what a required parameter lacked, at both ends too, and says when it was never there', () => {
    const reasons = (from: number, to: number) => {
      const signals = signalsOf(40);
      const made = new Room(cardMission(), { ...signals, TQ: lacking(signals.TQ, from, to) }).until(1);
      made.act('begin point', { subject: 'level-80' });
      made.until(5).act('enter gate', { number: 1, choice: 'on condition', aircraft: at(5) });
      made.until(16.01).act('enter gate', { number: 1, choice: 'recover', aircraft: at(16) });
      return made.run.advice?.reasons;
    };
    expect(reasons(7, 7.2)).toEqual([]);
    expect(reasons(7, 7.21)).toEqual(['TQ dropped out for 210 ms in all; 200 ms may be missing']);
    expect(reasons(4, 5.5)).toEqual(['TQ dropped out for 500 ms in all; 200 ms may be missing']);
    expect(reasons(15, 17)).toEqual(['TQ dropped out for 1000 ms in all; 200 ms may be missing']);
    expect(reasons(4, 17)).toEqual(['TQ was never there']);
  });

  it('ends at a stop call, which is the reason; nothing goes on while it is open', () => {
    const made = room().until(1);
    made.act('begin point', { subject: 'level-80' });
    made.until(5).act('enter gate', { number: 1, choice: 'on condition' });
    made.until(12);
    made.call(11.5);
    made.until(18);
    expect(made.run).toMatchObject({ recordTo: at(11.5), recorded: 6.5 * SECOND, offer: '' });
    expect(made.run.advice).toEqual({
      judgement: 'repeat',
      reasons: [
        'stop call 1 (STOP TEST) during the record, at 10:00:11.500',
        'the record is 6.5 s long, and 10 s are wanted',
      ],
    });
    expect(made.act('enter gate', { number: 1, choice: 'manoeuvre' })).toMatch(/^stop call 1 is open/);
    expect(made.act('enter gate', { number: 1, choice: 'recover' })).toBe('');
    expect(made.run.recordTo).toBe(at(11.5));
    expect(made.act('judge point', { number: 1, choice: 'good', text: 'enough' })).toBe(
      'stop call 1 is open: nothing is judged good before its decision',
    );
    expect(made.act('judge point', { number: 1, choice: 'repeat' })).toBe('');
  });

  it('ends when a call was logged, where the time it is said to be of cannot be; one from before it leaves nothing of it', () => {
    const made = room().until(1);
    made.act('begin point', { subject: 'level-80' });
    made.until(5).act('enter gate', { number: 1, choice: 'on condition' });
    made.until(12);
    made.call(500);
    expect(made.run.recordTo).toBe(at(12));
    made.call(4);
    expect(made.run).toMatchObject({ recordTo: at(5), recorded: 0 });
    expect(made.run.advice?.reasons.slice(0, 2)).toEqual([
      'stop call 1 (STOP TEST) during the record, at 10:00:12.000',
      'stop call 2 (STOP TEST) before the record, at 10:00:04.000',
    ]);
  });

  it('of a manoeuvre begins with the manoeuvre', () => {
    const made = room(40, {}, pointOf({ recordFrom: 'manoeuvre', hold: 2 * SECOND })).until(1);
    made.act('begin point', { subject: 'level-80' });
    made.until(5).act('enter gate', { number: 1, choice: 'on condition' });
    expect(made.until(6).run).toMatchObject({ recordFrom: 0, statistics: [] });
    made.act('enter gate', { number: 1, choice: 'manoeuvre' });
    expect(made.until(8).run).toMatchObject({ recordFrom: at(6), offer: '' });
    expect(made.until(8.02).run).toMatchObject({ offer: 'complete', offered: at(8) });
  });

  it('is not there when it was never said, and that is said', () => {
    const made = room().until(1);
    made.act('begin point', { subject: 'level-80' });
    made.call(2);
    made.until(5).act('enter gate', { number: 1, choice: 'recover' });
    expect(made.run.advice?.reasons).toEqual([
      'stop call 1 (STOP TEST) before the record, at 10:00:02.000',
      'there is no record: it begins with on condition, which was not said',
    ]);
  });

  it('is worth nothing when aircraft time stepped back in it', () => {
    const made = room().until(1);
    made.act('begin point', { subject: 'level-80' });
    made.until(5).act('enter gate', { number: 1, choice: 'on condition' });
    made.until(10);
    made.points.run(made.signalsFrom(4, 7));
    made.until(18).act('enter gate', { number: 1, choice: 'recover' });
    expect(made.run.advice?.reasons).toContain('aircraft time stepped back by 5.99 s during the record');
  });
});

describe('judging a point', () => {
  it('against the advice needs a reason, and so does skipping', () => {
    const good = flown();
    const judge = (made: Room, choice: string, text = '') => made.act('judge point', { number: 1, choice, text });
    expect(judge(good, 'repeat')).toBe('the advice is good: repeat against it needs a reason');
    expect(judge(good, 'maybe')).toBe('a point is judged good, repeat or skip, not maybe');
    expect(judge(good, 'good')).toBe('');
    const bad = flown({}, pointOf({ data: [band('TQ', 50, 1)], hold: SECOND }));
    expect(judge(bad, 'good', '  ')).toMatch(/^the advice is repeat, because TQ was out of .*: good against it needs/);
    expect(judge(bad, 'good', ' trim was known ')).toBe('');
    expect(bad.run.judged).toMatchObject({ judgement: 'good', note: 'trim was known', person: 'test-conductor' });
    expect(judge(bad, 'skip')).toBe('a point is skipped for a reason: say it');
  });

  it('waits for recover, and a run is closed when it is judged', () => {
    const made = room().until(1);
    made.act('begin point', { subject: 'level-80' });
    expect(made.act('judge point', { number: 1, choice: 'good' })).toBe(
      'run 1 stands at setup: it is judged after recover',
    );
    expect(made.act('enter gate', { number: 1, choice: 'closed' })).toMatch(/^run 1 is not judged yet/);
    expect(made.act('judge point', { number: 1, choice: 'skip', text: 'weather' })).toBe('');
    expect(made.act('enter gate', { number: 1, choice: 'closed' })).toBe('');
    expect(made.run).toMatchObject({ gate: 'closed', bands: [], judged: { judgement: 'skip' } });
    expect(made.act('judge point', { number: 1, choice: 'good' })).toBe('run 1 is closed');
  });
});

describe('the state of the runner', () => {
  it('goes on under another mission only where the point is the same', () => {
    const made = room().until(1);
    made.act('begin point', { subject: 'level-80' });
    made.until(5).act('enter gate', { number: 1, choice: 'on condition' });
    const same = new Points(cardMission([pointOf({ id: 'level-70' }), pointOf()]));
    same.restore(made.points.save());
    expect(same.runs()).toEqual(made.points.runs());
    const other = new Points(cardMission([pointOf({ hold: SECOND })]));
    other.restore(made.points.save());
    expect(other.runs()).toMatchObject([
      {
        number: 1,
        gate: 'closed',
        advice: { judgement: 'repeat', reasons: ['another mission came into force during the run'] },
      },
    ]);
  });

  it('is refused by a mission that lacks what a point names', () => {
    const bad = cardMission([pointOf({ required: ['NOTHING'] })]);
    expect(() => new Points(bad)).toThrow('point level-80 names NOTHING, which the mission does not have');
  });
});
