import { describe, expect, it } from 'vitest';
import { SECOND } from '../../../protocol/time.ts';
import { Validity } from '../../../protocol/validity.ts';
import { findingsOf } from '../../../test/support/kind-findings.ts';
import { fly, type LimitFlight, limitOf, lines } from '../../../test/support/limit-flight.ts';

const gap = (id: string, watched: string, wraps?: number) =>
  limitOf(id, 'plausibility', watched, {
    settings: { estimate: 'ESTIMATE', ...(wraps !== undefined && { wraps }) },
    above: { caution: 10 },
    persistence: 3 * SECOND,
  });

describe('a plausibility limit', () => {
  it('flags a pitot frozen on all three channels 8 s after, where comparing them shows nothing', () => {
    // all three freeze at 72 kt at T0 = 2 s while the true speed rises by 2 kt/s
    const true_ = (t: number) => (t < 2 ? 72 : 72 + 2 * (t - 2));
    const frozen = { group: 'main', at: () => 72, code: (t: number) => (t >= 4 ? Validity.frozen : Validity.good) };
    const channels = ['IAS_1', 'IAS_2', 'IAS_3'];
    const flight: LimitFlight = {
      seconds: 14,
      groups: { main: 50, nav: 50 },
      signals: {
        IAS_1: frozen,
        IAS_2: frozen,
        IAS_3: frozen,
        ESTIMATE: { group: 'nav', at: true_ },
      },
      limits: [
        ...channels.map((id) => gap(id, id)),
        limitOf('miscompare', 'miscompare', 'IAS_1', { settings: { channels }, above: { caution: 3 } }),
      ],
    };
    const told = lines(fly(flight), flight);
    // more than 10 kt for the first time one sample after 5 s: due 8 s after the freezing, to the sample
    for (const id of channels) expect(told).toContain(`${id} outside caution 10.02 (watched value frozen)`);
    expect(told.filter((line) => line.startsWith('miscompare'))).toEqual([
      'miscompare inside 0',
      // and says so once the channels are marked, rather than agreeing
      'miscompare cannot tell 4',
    ]);
  });

  it('is the same whichever of the two is higher, and not beyond at the very value', () => {
    for (const sign of [1, -1]) {
      const flight: LimitFlight = {
        seconds: 9,
        groups: { main: 50 },
        signals: {
          A: { group: 'main', at: () => 100 },
          ESTIMATE: { group: 'main', at: (t) => 100 + sign * (t < 2 ? 10 : 10.5) },
        },
        limits: [gap('p', 'A')],
      };
      expect(lines(fly(flight), flight)).toEqual(['p inside 0', 'p pending 2', 'p outside caution 5']);
    }
  });

  it('takes the nearer way round for directions', () => {
    const flight: LimitFlight = {
      seconds: 9,
      groups: { main: 50 },
      signals: {
        A: { group: 'main', at: () => 355 },
        ESTIMATE: { group: 'main', at: (t) => (t < 2 ? 4.9 : 5.1) },
      },
      limits: [gap('p', 'A', 360)],
    };
    expect(lines(fly(flight), flight)).toEqual(['p inside 0', 'p pending 2', 'p outside caution 5']);
  });

  it('compares a value marked frozen or implausible, and no other that is not usable', () => {
    const told = (watched: number, estimate: number) => {
      const flight: LimitFlight = {
        seconds: 4,
        groups: { main: 50 },
        signals: {
          A: { group: 'main', at: () => 100, code: () => watched },
          ESTIMATE: { group: 'main', at: () => 120, code: () => estimate },
        },
        limits: [gap('p', 'A')],
      };
      return lines(fly(flight, 1), flight).at(-1);
    };
    expect(told(Validity.good, Validity.good)).toBe('p outside caution 3');
    expect(told(Validity.extrapolated, Validity.extrapolated)).toBe('p outside caution 3');
    expect(told(Validity.frozen, Validity.good)).toBe('p outside caution 3 (watched value frozen)');
    expect(told(Validity.plausible, Validity.good)).toBe('p outside caution 3 (watched value implausible)');
    for (const code of [Validity.link, Validity.stale, Validity.range, Validity.input, Validity.none]) {
      expect(told(code, Validity.good)).toBeUndefined();
    }
    for (const code of [Validity.link, Validity.frozen, Validity.plausible]) {
      expect(told(Validity.good, code)).toBeUndefined();
    }
  });

  it('takes the estimate in the unit of the watched parameter', () => {
    const flight: LimitFlight = {
      seconds: 5,
      groups: { main: 50 },
      signals: {
        A: { group: 'main', unit: 'kt', at: () => 100 },
        ESTIMATE: { group: 'main', unit: 'm/s', at: (t) => (t < 1 ? 100 : 111) * (1852 / 3600) },
      },
      limits: [gap('p', 'A')],
    };
    expect(lines(fly(flight), flight)).toEqual(['p inside 0', 'p pending 1', 'p outside caution 4']);
  });

  it('refuses a turn of nothing', () => {
    for (const wraps of [0, -360, Number.NaN, Infinity]) {
      expect(findingsOf(gap('p', 'A', wraps), ['A', 'ESTIMATE'])).toEqual([
        `bad-value at wraps: limit p: wraps ${wraps}, expected a whole turn, greater than 0`,
      ]);
    }
  });
});
