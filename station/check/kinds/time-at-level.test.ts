import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Limit } from '../../../protocol/limit.ts';
import { Validity } from '../../../protocol/validity.ts';
import { findingsOf } from '../../../test/support/kind-findings.ts';
import { fly, type LimitFlight, limitOf, lines, START } from '../../../test/support/limit-flight.ts';
import { runMeasure } from '../../../test/support/run-measure.ts';
import { compileTimeAtLevel } from './time-at-level.ts';

const band = (settings: Limit['settings'], more: Partial<Limit>) =>
  limitOf('t', 'time at level', 'TQ', { ...more, ...(settings && { settings }) });

/** A flight of torque, per cent, 100 a second. */
const torque = (
  seconds: number,
  at: (t: number) => number,
  limits: Limit[],
  more: Partial<LimitFlight> = {},
): LimitFlight => ({ seconds, groups: { main: 100 }, signals: { TQ: { group: 'main', at } }, limits, ...more });

describe('a limit of time at level', () => {
  it('trips at five minutes, to the sample, with three seconds of dropout on the way', () => {
    const limit = band({ over: 100, 'up to': 110 }, { above: { warning: 300 } });
    for (const dropout of [
      { missing: (_: string, t: number) => t > 100 && t < 103 },
      { missing: (_: string, t: number) => t > 0 && t < 3 },
      { missing: () => false },
    ]) {
      const flight = torque(305, () => 105, [limit], dropout);
      // 300 s is not more than 300 s: the next sample is
      const gaps = dropout.missing('main', 101) || dropout.missing('main', 1) ? ' (gaps counted)' : '';
      expect(lines(fly(flight, 1), flight)).toEqual(['t inside 0', `t outside warning 300.01${gaps}`]);
    }
  });

  it('goes through the ladder of a five-minute rating used twice, one dropout included', () => {
    // 104 % for 4:45, 99 % for 10 s, 103 % for 27 s of which 3 s are lost, then 95 %
    const at = (t: number) => (t < 285 ? 104 : t < 295 ? 99 : t < 322 ? 103 : 95);
    const limit = band(
      { over: 100, 'up to': 110, count: 'whole flight' },
      { above: { caution: 270, warning: 300 }, hysteresis: 0 },
    );
    const flight = torque(330, at, [limit], { missing: (_, t) => t >= 300 && t < 303 });
    const changes = fly(flight, 2);
    expect(lines(changes, flight)).toEqual([
      't inside 0',
      't outside caution 270.01',
      't outside warning 310.01 (gaps counted)',
    ]);
    expect(changes.at(-1)).toMatchObject({ value: 300.01, limitValue: 300 });
    // the overrun is 12 s: a limit at 312 s less a sample is reached, one of 312 s is not
    const over = (value: number) => {
      const one = torque(330, at, [
        band({ over: 100, 'up to': 110, count: 'whole flight' }, { above: { stop: value } }),
      ]);
      return lines(fly(one, 0), one).length > 1;
    };
    expect([over(311.99), over(312)]).toEqual([true, false]);
  });

  it('begins at 0 each time the band is entered, from the first sample in it', () => {
    const at = (t: number) => (t >= 1 && t < 3 ? 105 : t >= 4 ? 105 : 90);
    const flight = torque(8, at, [band({ over: 100 }, { above: { caution: 2.5 } })]);
    expect(lines(fly(flight), flight)).toEqual(['t inside 0', 't outside caution 6.51']);
    // the sample that leaves the band ends it, with all the time up to there: it is told once
    const short = torque(8, (t) => (t >= 1 && t < 3 ? 105 : 90), [band({ over: 100 }, { above: { caution: 1.995 } })]);
    expect(lines(fly(short), short)).toEqual(['t inside 0', 't outside caution 3', 't inside 3.01']);
  });

  it('has a lower end that is not in the band, and an upper one that is', () => {
    const last = (value: number, settings: Limit['settings']) => {
      const flight = torque(2, () => value, [band(settings, { above: { caution: 1 } })]);
      return lines(fly(flight, 1), flight).at(-1);
    };
    const settings = { over: 100, 'up to': 110 };
    expect(last(100, settings)).toBe('t inside 0');
    expect(last(100.001, settings)).toBe('t outside caution 1.01');
    expect(last(110, settings)).toBe('t outside caution 1.01');
    expect(last(110.001, settings)).toBe('t inside 0');
    expect(last(-1e9, { 'up to': 110 })).toBe('t outside caution 1.01');
    expect(last(1e9, { over: 100 })).toBe('t outside caution 1.01');
  });

  it('stays in the band up to its margin, and enters it without', () => {
    const at = (t: number) => (t < 1 ? 99.5 : t < 2 ? 101 : t < 3 ? 99 : t < 4 ? 111 : 112);
    const seconds = (margin: number) => {
      const total = (value: number) => {
        const one = { over: 100, 'up to': 110, count: 'whole flight', margin };
        const flight = torque(6, at, [band(one, { above: { caution: value } })]);
        return lines(fly(flight, 1), flight).length > 1;
      };
      return [0.99, 1.99, 2.99, 3.99].filter(total).length;
    };
    expect(seconds(0)).toBe(1);
    // 99 is not more than 100 - 1, so that the band is left there, and 111 does not enter it
    expect(seconds(1)).toBe(1);
    expect(seconds(1.01)).toBe(3);
    expect(seconds(2.5)).toBe(4);
  });

  it('counts samples that are not usable as time in the band, and says so only once a level is reached', () => {
    const flight: LimitFlight = {
      seconds: 9,
      groups: { main: 100 },
      signals: {
        TQ: { group: 'main', at: () => 90, code: (t) => (t >= 2 && t < 7 ? Validity.link : Validity.good) },
      },
      limits: [band({ over: 100 }, { above: { caution: 3 } })],
    };
    expect(lines(fly(flight), flight)).toEqual([
      't inside 0',
      't cannot tell 2',
      't outside caution 5.01 (gaps counted)',
      // the sample at 7 s ends it, and still tells of it
      't inside 7.01',
    ]);
  });

  it('lets a sample out of the band speak until it is stale, and for one period when the gap is longer', () => {
    const seconds = (gap: number) => {
      const flight = (value: number) =>
        torque(10, () => 90, [band({ over: 100, count: 'whole flight' }, { above: { caution: value } })], {
          missing: (_, t) => t > 4 && t < 4 + gap - 0.005,
        });
      const is = (value: number) => lines(fly(flight(value), 0), flight(value)).length > 1;
      return is(gap - 0.015) && !is(gap - 0.01) ? 'gap less a period' : is(0) ? 'something' : 'nothing';
    };
    expect(seconds(0.5)).toBe('nothing');
    expect(seconds(0.51)).toBe('gap less a period');
    expect(seconds(3)).toBe('gap less a period');
  });

  it('counts nothing while it is not in force, and keeps what it has over the whole flight alone', () => {
    const flight = (count: string): LimitFlight => ({
      seconds: 12,
      groups: { main: 100 },
      signals: {
        TQ: { group: 'main', at: () => 105 },
        ON: { group: 'main', at: (t) => (t >= 2 && t < 5 ? 0 : 1) },
      },
      limits: [band({ over: 100, count }, { above: { caution: 4 }, while: 'ON' })],
    });
    expect(lines(fly(flight('whole flight')), flight('whole flight'))).toEqual([
      't inside 0',
      't outside caution 7.01',
    ]);
    expect(lines(fly(flight('each time')), flight('each time'))).toEqual(['t inside 0', 't outside caution 9.01']);
  });

  it('goes on counting while it cannot tell whether it is in force', () => {
    const flight: LimitFlight = {
      seconds: 6,
      groups: { main: 100 },
      signals: {
        TQ: { group: 'main', at: () => 105 },
        ON: { group: 'main', at: () => 1, code: (t) => (t >= 1 && t < 2 ? Validity.frozen : Validity.good) },
      },
      limits: [band({ over: 100 }, { above: { caution: 4 }, while: 'ON' })],
    };
    expect(lines(fly(flight), flight)).toEqual([
      't inside 0',
      't cannot tell 1',
      't inside 2',
      't outside caution 4.01',
    ]);
  });

  it('trips one sample after its value at any rate and any entry', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(10, 20, 50, 100),
        fc.integer({ min: 1, max: 60 }),
        fc.integer({ min: 0, max: 40 }),
        (rate, periods, entry) => {
          const limit = band({ over: 1 }, { above: { stop: periods / rate } });
          const at = (_: number, i: number) => (i >= entry ? 2 : 0);
          const flight = {
            seconds: 12,
            groups: { main: rate },
            signals: { TQ: { group: 'main', at } },
            limits: [limit],
          };
          expect(lines(fly(flight, 1), flight).slice(1)).toEqual([`t outside stop ${(entry + periods + 1) / rate}`]);
        },
      ),
      { seed: 503, numRuns: 30 },
    );
  });

  it('lets a sample of a group without a rate speak until it is stale, whatever comes after', () => {
    const seconds = (gap: number, value: number) => {
      const limit = band({ over: 100, count: 'whole flight', margin: 0 }, { above: { caution: 9 } });
      const samples = [0, gap].map((t) => ({ time: START + t * 1e6, inputs: [{ value, usable: true }] }));
      return runMeasure((context) => compileTimeAtLevel(limit as never, context), samples, 1, 0).told[1]?.value;
    };
    expect([seconds(0.5, 90), seconds(0.75, 90), seconds(2, 90)]).toEqual([0, 0.25, 1.5]);
    expect(seconds(2, 105)).toBe(2);
  });

  it('has levels above alone', () => {
    const both = band({ over: 100 }, { above: { caution: 3 }, below: { caution: 1 } });
    expect(findingsOf(both, ['TQ'])).toEqual([
      'wrong-shape at below: limit t: below, expected above, the only side that kind time at level has levels on',
    ]);
  });

  it('refuses a band without an end, one upside down, a negative margin', () => {
    const found = (settings: Limit['settings']) => findingsOf(band(settings, { above: { caution: 1 } }), ['TQ']);
    expect(found({})).toEqual(['wrong-shape: limit t: neither over nor up to, expected one end of the band, or both']);
    for (const upTo of [100, 99, Number.NaN]) {
      expect(found({ over: 100, 'up to': upTo })).toEqual([
        `limit-order at up to: limit t: over 100, up to ${upTo}, expected a band whose lower end is less than its upper one`,
      ]);
    }
    expect(found({ over: 100, margin: 0 })).toEqual([]);
    for (const margin of [-1, Number.NaN, Infinity]) {
      expect(found({ over: 100, margin })).toEqual([
        `bad-value at margin: limit t: margin ${margin}, expected a number of 0 or more`,
      ]);
    }
  });
});
