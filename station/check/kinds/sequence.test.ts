import { describe, expect, it } from 'vitest';
import { fly, type LimitFlight, limitOf, lines } from '../../../test/support/limit-flight.ts';
import { SECOND } from '../../../protocol/time.ts';
import { Validity } from '../../../protocol/validity.ts';

/** A start: light within 5 s, 58 % N1 within 10 s of that, oil pressure within 2 s of that. */
const steps = [
  { name: 'light', when: 'LIGHT', within: 5 * SECOND },
  { name: 'N1 58 %', when: 'N1_58', within: 10 * SECOND },
  { name: 'oil pressure', when: 'OIL', within: 2 * SECOND },
];

type Signals = LimitFlight['signals'];
const from = (at: number, until = Infinity) => ({ group: 'main', at: (t: number) => (t >= at && t < until ? 1 : 0) });

function flight(signals: Signals, more: Partial<LimitFlight> & { ends?: string } = {}): LimitFlight {
  const settings = { begins: 'STARTER', steps, ...(more.ends && { ends: more.ends }) };
  return {
    seconds: 40,
    groups: { main: 50 },
    signals: {
      N1: { group: 'main', at: () => 0 },
      STARTER: from(3, 4),
      LIGHT: from(6),
      N1_58: from(12),
      OIL: from(13),
      ...signals,
    },
    limits: [limitOf('start', 'sequence', 'N1', { above: { caution: 0.5 }, settings })],
    ...more,
  };
}

const told = (of: LimitFlight): string[] => lines(fly(of), of);
const never = { group: 'main', at: () => 0 };

describe('a sequence of steps', () => {
  it('says nothing when each step is done in its time, to the last moment', () => {
    expect(told(flight({}))).toEqual(['start inside 0']);
    expect(told(flight({ LIGHT: from(8), N1_58: from(18), OIL: from(20) }))).toEqual(['start inside 0']);
  });

  it('names each step that is missing, at the first sample later than its time', () => {
    expect(told(flight({ LIGHT: never }))).toEqual(['start inside 0', 'start outside caution 8.02 (light)']);
    expect(told(flight({ N1_58: never }))).toEqual(['start inside 0', 'start outside caution 16.02 (N1 58 %)']);
    expect(told(flight({ OIL: never }))).toEqual(['start inside 0', 'start outside caution 14.02 (oil pressure)']);
  });

  it('takes a step that comes late, and times the next one from there', () => {
    expect(told(flight({ LIGHT: from(9), N1_58: never }))).toEqual([
      'start inside 0',
      'start outside caution 8.02 (light)',
      'start inside 9',
      'start outside caution 19.02 (N1 58 %)',
    ]);
  });

  it('takes several steps in one sample, in order', () => {
    expect(told(flight({ LIGHT: from(6), N1_58: from(1), OIL: from(1) }))).toEqual(['start inside 0']);
    // a step done before its turn must be done at its turn
    expect(told(flight({ LIGHT: from(6), N1_58: from(1, 5), OIL: from(1) }))).toEqual([
      'start inside 0',
      'start outside caution 16.02 (N1 58 %)',
    ]);
  });

  it('begins anew each time it begins', () => {
    const STARTER = { group: 'main', at: (t: number) => ((t >= 3 && t < 4) || (t >= 20 && t < 21) ? 1 : 0) };
    expect(told(flight({ STARTER, LIGHT: never }))).toEqual([
      'start inside 0',
      'start outside caution 8.02 (light)',
      'start inside 20',
      'start outside caution 25.02 (light)',
    ]);
    // also in the midst of one, and after a whole one
    expect(told(flight({ STARTER, LIGHT: from(22), N1_58: from(40) }))).toEqual([
      'start inside 0',
      'start outside caution 8.02 (light)',
      'start inside 20',
      'start outside caution 32.02 (N1 58 %)',
    ]);
    expect(told(flight({ STARTER, LIGHT: from(6, 15) }))).toEqual([
      'start inside 0',
      'start outside caution 25.02 (light)',
    ]);
  });

  it('does not begin by what began before it could be seen, but does when it cannot be excluded', () => {
    const lost = (t: number) => (t < 5 ? Validity.link : Validity.good);
    const STARTER = { ...from(3, 6), code: lost };
    expect(told(flight({ STARTER, LIGHT: never }))).toEqual(['start inside 5', 'start outside caution 10.02 (light)']);
    expect(told(flight({ STARTER: { ...from(3, 4), code: lost }, LIGHT: never }))).toEqual(['start inside 5']);
  });

  it('goes on while its beginning is lost, and begins no second time after', () => {
    const code = (t: number) => (t >= 3.5 && t < 5 ? Validity.link : Validity.good);
    const STARTER = { ...from(3, 7), code };
    expect(told(flight({ STARTER, LIGHT: never }))).toEqual(['start inside 0', 'start outside caution 8.02 (light)']);
  });

  it('is over when it is ended, whatever is missing', () => {
    expect(told(flight({ LIGHT: never, ABORT: from(6) }, { ends: 'ABORT' }))).toEqual(['start inside 0']);
    expect(told(flight({ LIGHT: never, ABORT: from(9) }, { ends: 'ABORT' }))).toEqual([
      'start inside 0',
      'start outside caution 8.02 (light)',
      'start inside 9',
    ]);
  });

  it('cannot be told when the step that is due cannot be seen', () => {
    const code = (t: number) => (t >= 7 && t < 9 ? Validity.frozen : Validity.good);
    expect(told(flight({ LIGHT: { ...never, code } }))).toEqual([
      'start inside 0',
      'start cannot tell 8.02',
      'start outside caution 9 (light)',
    ]);
    expect(told(flight({ LIGHT: { ...from(7.5), code } }))).toEqual([
      'start inside 0',
      'start cannot tell 8.02',
      'start inside 9',
    ]);
  });

  it('is not under way while its limit is not in force', () => {
    const of = flight({ LIGHT: never, ARMED: from(5) });
    const gated = { ...of, limits: of.limits.map((limit) => ({ ...limit, while: 'ARMED' })) };
    expect(told(gated)).toEqual(['start inside 0']);
  });
});
