import { describe, expect, it } from 'vitest';
import type { Limit } from '../../../protocol/limit.ts';
import { Validity } from '../../../protocol/validity.ts';
import { findingsOf } from '../../../test/support/kind-findings.ts';
import { fly, type LimitFlight, limitOf, lines, type Signal } from '../../../test/support/limit-flight.ts';

/** Nominal actuator of these tests: 45 rad/s, damping 0.8, 95 % of travel a second. */
const OMEGA = 45;
const DAMPING = 0.8;
const nominal = { command: 'CMD', frequency: OMEGA / (2 * Math.PI), damping: DAMPING, 'rate limit': 95 };

const tracking = (settings: NonNullable<Limit['settings']> = {}, more: Partial<Limit> = {}) =>
  limitOf('k', 'tracking', 'POS', {
    above: { caution: 2.5 },
    persistence: 200_000,
    ...more,
    settings: { ...nominal, ...settings },
  });

const both = [tracking(), { ...tracking({}, { above: { warning: 5 } }), id: 'w' }];

/** Where the nominal actuator is `t` after a ramp of 1 a second began, from rest: solved on paper. */
function rampResponse(t: number): number {
  const decay = Math.exp(-DAMPING * OMEGA * t);
  const turn = OMEGA * Math.sqrt(1 - DAMPING ** 2);
  const lag = (2 * DAMPING) / OMEGA;
  return t - lag + decay * (lag * Math.cos(turn * t) + ((2 * DAMPING ** 2 - 1) / turn) * Math.sin(turn * t));
}

/** First sample, at 100 a second, `after` which the condition holds; in seconds. */
function firstSample(holds: (t: number) => boolean): number {
  let i = 0;
  while (!holds(i / 100)) i++;
  return i / 100;
}

const flightOf = (seconds: number, command: Signal['at'], position: Signal['at'] | Signal, limits = both) =>
  ({
    seconds,
    groups: { main: 100 },
    signals: {
      POS: typeof position === 'function' ? { group: 'main', at: position } : position,
      CMD: { group: 'main', at: command },
    },
    limits,
  }) satisfies LimitFlight;

describe('a tracking limit', () => {
  it('flags an actuator jammed at 54 % under a ramp of 9 % a second within 0.8 s, at the sample it is due', () => {
    // in hover: the command stands, the actuator jams, and the ramp begins
    const start = 2;
    const command = (t: number) => 54 + (t > start ? 9 * (t - start) : 0);
    const flight = flightOf(6, command, () => 54);
    const caution = firstSample((t) => 9 * rampResponse(t) > 2.5) + 0.2;
    const warning = firstSample((t) => 9 * rampResponse(t) > 5) + 0.2;
    // without the lag of the model it would be 0.48 and 0.76 s
    expect([caution, warning]).toEqual([expect.closeTo(0.52, 9), expect.closeTo(0.8, 9)]);
    expect(lines(fly(flight), flight)).toEqual([
      'k inside 0',
      'w inside 0',
      'k pending 2.32',
      'k outside caution 2.52',
      'w pending 2.6',
      'w outside warning 2.8',
    ]);
  });

  it('flags one that jams while it moves at 0.48 and 0.76 s, there being no lag to make up', () => {
    // it follows the ramp as the model does, until it stops at 2 s
    const command = (t: number) => 20 + 9 * t;
    const position = (t: number) => 20 + 9 * rampResponse(Math.min(t, 2));
    const flight = flightOf(6, command, position);
    expect(lines(fly(flight), flight)).toEqual([
      'k inside 0',
      'w inside 0',
      'k pending 2.28',
      'k outside caution 2.48',
      'w pending 2.56',
      'w outside warning 2.76',
    ]);
  });

  it('is the same whichever way the command goes', () => {
    const flight = flightOf(
      3,
      (t) => 54 - 9 * Math.max(0, t - 1),
      () => 54,
      [tracking()],
    );
    expect(lines(fly(flight), flight)).toEqual(['k inside 0', 'k pending 1.32', 'k outside caution 1.52']);
  });

  it('gives no alarm on a healthy actuator swept from 0.2 to 3 Hz, its own limit reached or not', () => {
    for (const amplitude of [2, 4, 8]) {
      // phase of a sweep that doubles its frequency in equal times, over 40 s
      const ratio = Math.log(15) / 40;
      const command = (t: number) => 50 + amplitude * Math.sin((2 * Math.PI * 0.2 * (Math.exp(ratio * t) - 1)) / ratio);
      // an actuator stepped at 20 kHz, 3 % slower than nominal, read with noise and in counts of 0.05 %
      const positions: number[] = [];
      let [y, v, state] = [50, 0, 5];
      for (let i = 0; i < 4000; i++) {
        state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
        positions.push(Math.round((y + 0.1 * (state / 2 ** 32 - 0.5)) / 0.05) * 0.05);
        for (let k = 0; k < 200; k++) {
          const t = i / 100 + k / 20_000;
          const pull = (0.97 * OMEGA) ** 2 * (command(t) - y) - 2 * DAMPING * 0.97 * OMEGA * v;
          v = Math.max(-95, Math.min(95, v + pull / 20_000));
          y += v / 20_000;
        }
      }
      const flight = flightOf(40, command, (_, i) => positions[i] as number, [tracking({}, { persistence: 0 })]);
      expect(lines(fly(flight, 1), flight)).toEqual(['k inside 0']);
      // with an actuator that is not there to move, the same sweep is an alarm
      const frozen = flightOf(40, command, () => 50, [tracking({}, { persistence: 0 })]);
      if (amplitude > 2.5) expect(lines(fly(frozen, 0), frozen).length).toBeGreaterThan(10);
    }
  });

  it('does not ask more than the rate limit, nor more than the stops', () => {
    // a step of 60 %: an actuator at its limit needs 0.6 s and some, and stops at 90
    const limited = (t: number) => (t <= 1 ? 50 : Math.min(90, 50 + 95 * (t - 1)));
    const step = (t: number) => (t < 1 ? 50 : 110);
    const told = (settings: NonNullable<Limit['settings']>) => {
      const flight = flightOf(4, step, limited, [tracking(settings, { above: { caution: 5 }, persistence: 0 })]);
      return lines(fly(flight), flight);
    };
    expect(told({ 'low stop': 10, 'high stop': 90 })).toEqual(['k inside 0']);
    expect(told({}).at(-1)).toContain('k outside caution');
    expect(told({ 'low stop': 10, 'high stop': 90, 'rate limit': undefined as never })[1]).toContain('k outside');
    const low = flightOf(
      4,
      (t) => (t < 1 ? 50 : -10),
      (t) => (t <= 1 ? 50 : Math.max(10, 50 - 95 * (t - 1))),
      [tracking({ 'low stop': 10, 'high stop': 90 }, { above: { caution: 5 }, persistence: 0 })],
    );
    expect(lines(fly(low), low)).toEqual(['k inside 0']);
  });

  it('gives the actuator its delay', () => {
    const command = (t: number) => 50 + (t > 1 ? 20 * (t - 1) : 0);
    const late = (t: number) => 50 + 20 * rampResponse(Math.max(0, t - 1.1));
    const told = (delay: number) => {
      const flight = flightOf(3, command, late, [tracking({ delay }, { above: { caution: 1 }, persistence: 0 })]);
      return lines(fly(flight), flight);
    };
    // before the delay is over there is no command to follow yet
    expect(told(100_000)).toEqual(['k inside 0.1']);
    const due = 1 + firstSample((t) => 20 * rampResponse(t) > 1);
    expect(told(0)).toEqual(['k inside 0', `k outside caution ${due}`]);
  });

  it('knows a delayed command until it is staler than its group may be', () => {
    const told = (until: number) => {
      const flight: LimitFlight = flightOf(
        4,
        () => 54,
        () => 54,
        [tracking({ delay: 100_000 })],
      );
      flight.missing = (_, t) => t > 1 && t < until - 0.005;
      return lines(fly(flight), flight);
    };
    // at 1.6 s the command of 0.1 s ago was 0.5 s old, a sample later 0.51 s; the next one is 0.1 s old at 1.7 s
    expect(told(1.6)).toEqual(['k inside 0.1', 'k cannot tell 1.61', 'k inside 1.7']);
    expect(told(1.61)).toEqual(['k inside 0.1', 'k cannot tell 1.61', 'k inside 1.71']);
  });

  it('cannot tell without position or command, and begins anew after a long gap of the command alone', () => {
    const lost = (from: number, until: number) => (t: number) =>
      t >= from && t < until ? Validity.link : Validity.good;
    const command = (t: number) => 54 + 9 * t;
    const told = (position: Signal['code'], of: Signal['code']) => {
      const flight = flightOf(4, command, () => 54, [tracking({}, { persistence: 0 })]);
      flight.signals.POS = { ...flight.signals.POS, ...(position && { code: position }) };
      flight.signals.CMD = { ...flight.signals.CMD, ...(of && { code: of }) };
      return lines(fly(flight), flight);
    };
    expect(told(undefined, undefined)).toEqual(['k inside 0', 'k outside caution 0.32']);
    // the model goes on without the position
    expect(told(lost(0.1, 1), undefined)).toEqual(['k inside 0', 'k cannot tell 0.1', 'k outside caution 1']);
    // and over a short gap of the command
    expect(told(undefined, lost(0.1, 0.3))).toEqual([
      'k inside 0',
      'k cannot tell 0.1',
      'k inside 0.3',
      'k outside caution 0.32',
    ]);
    expect(told(undefined, lost(0.11, 0.6))).toEqual(['k inside 0', 'k cannot tell 0.11', 'k outside caution 0.6']);
    // a gap of more than half a second: it begins at the position, and has the command to catch up with
    expect(told(undefined, lost(0.1, 0.6)).slice(0, 3)).toEqual(['k inside 0', 'k cannot tell 0.1', 'k inside 0.6']);
    // nothing to begin with until there is a position
    expect(told(lost(0, 1), undefined).slice(0, 1)).toEqual(['k inside 1']);
  });

  it('takes a position or command that is no number for one that is not usable', () => {
    const at = (t: number) => (t === 1 ? Number.NaN : 54);
    for (const [position, command] of [
      [at, () => 54],
      [() => 54, at],
    ] as const) {
      const flight = flightOf(2, command, position, [tracking()]);
      expect(lines(fly(flight), flight)).toEqual(['k inside 0', 'k cannot tell 1', 'k inside 1.01']);
    }
  });

  it('takes the command in the unit of the position', () => {
    const flight = flightOf(
      3,
      (t) => ((50 + 9 * t) * Math.PI) / 180,
      () => 50,
      [tracking()],
    );
    flight.signals.POS = { ...flight.signals.POS, unit: 'deg' } as never;
    flight.signals.CMD = { ...flight.signals.CMD, unit: 'rad' } as never;
    expect(lines(fly(flight), flight)).toEqual(['k inside 0', 'k pending 0.32', 'k outside caution 0.52']);
  });

  it('refuses an actuator that cannot be', () => {
    const found = (settings: NonNullable<Limit['settings']>) => findingsOf(tracking(settings), ['POS', 'CMD']);
    expect(found({})).toEqual([]);
    for (const [key, value, text, expected] of [
      ['frequency', 0, 'frequency 0 Hz', 'more than 0 Hz'],
      ['frequency', Infinity, 'frequency Infinity Hz', 'more than 0 Hz'],
      ['damping', 0, 'damping 0', 'a damping ratio of more than 0'],
      ['damping', Number.NaN, 'damping NaN', 'a damping ratio of more than 0'],
      ['rate limit', 0, 'rate limit 0', 'more than 0'],
      ['delay', -1, 'delay -0.000001 s', 'a time of 0 or more'],
      ['delay', Infinity, 'delay Infinity s', 'a time of 0 or more'],
    ] as const) {
      expect(found({ [key]: value })).toEqual([`bad-value at ${key}: limit k: ${text}, expected ${expected}`]);
    }
    expect(found({ 'low stop': 5, 'high stop': 5 })).toEqual([
      'bad-value at low stop: limit k: stops 5, 5, expected a low stop less than the high one',
    ]);
  });
});
