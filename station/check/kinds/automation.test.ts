import { describe, expect, it } from 'vitest';
import { fly, type LimitFlight, limitOf, lines } from '../../../test/support/limit-flight.ts';
import { SECOND } from '../../../protocol/time.ts';
import { Validity } from '../../../protocol/validity.ts';
import { measureContext, runMeasure } from '../../../test/support/run-measure.ts';
import type { Measuring } from '../measured.ts';
import { compileAutomation } from './automation.ts';

type Code = (t: number) => number;
type At = (t: number) => boolean;

const good: Code = () => Validity.good;

/** Engine out from 2 s on; the entry is made when `acts` says so. 100 samples a second, the flag 50 a second. */
function flight(
  acts: At,
  more: { engineOut?: At; within?: number; causeCode?: Code; flagCode?: Code } = {},
): LimitFlight {
  const { engineOut = (t) => t >= 2, within = 0.35, causeCode = good, flagCode = good } = more;
  const settings = { if: 'ENGINE_OUT', then: 'ENTRY', within: within * SECOND };
  return {
    seconds: 6,
    groups: { main: 100, modes: 50 },
    signals: {
      NR: { group: 'main', at: () => 100 },
      ENGINE_OUT: { group: 'main', at: (t) => (engineOut(t) ? 1 : 0), code: causeCode },
      ENTRY: { group: 'modes', at: (t) => (acts(t) ? 1 : 0), code: flagCode },
    },
    limits: [limitOf('entry', 'automation', 'NR', { above: { warning: 0.5 }, settings })],
  };
}

const limit = limitOf('entry', 'automation', 'A', {
  settings: { if: 'A', then: 'B', within: SECOND },
}) as Parameters<typeof compileAutomation>[0];

const told = (of: LimitFlight): string[] => lines(fly(of), of);

describe('automation that should act', () => {
  it('is found missing at the first sample later than its time', () => {
    // 2.00 s, 0.35 s allowed, one sample: 2.36 s
    expect(told(flight(() => false))).toEqual(['entry inside 0', 'entry outside warning 2.36']);
    // the same when the time allowed ends between two samples
    expect(told(flight(() => false, { within: 0.355 }))).toEqual(['entry inside 0', 'entry outside warning 2.36']);
    expect(told(flight(() => false, { within: 0 }))).toEqual(['entry inside 0', 'entry outside warning 2.01']);
  });

  it('is not missing when it acts at the last moment, and is when that is one sample later', () => {
    expect(told(flight((t) => t >= 2.34 && t < 2.36))).toEqual(['entry inside 0']);
    // the flag of 2.36 is there at 2.36, when it is due: late by nothing that can be seen
    expect(told(flight((t) => t >= 2.36))).toEqual(['entry inside 0']);
    expect(told(flight((t) => t >= 2.38))).toEqual([
      'entry inside 0',
      'entry outside warning 2.36',
      'entry inside 2.38',
    ]);
  });

  it('has acted once and for all, though it lets go while the cause goes on', () => {
    expect(told(flight((t) => t >= 2.1 && t < 2.2))).toEqual(['entry inside 0']);
  });

  it('may have been on before its cause, but not only before', () => {
    expect(told(flight((t) => t >= 1 && t < 2.02))).toEqual(['entry inside 0']);
    expect(told(flight((t) => t >= 1 && t < 2))).toEqual(['entry inside 0', 'entry outside warning 2.36']);
  });

  it('must act anew each time its cause comes', () => {
    const engineOut: At = (t) => (t >= 2 && t < 2.3) || (t >= 3 && t < 3.2) || t >= 4;
    expect(told(flight((t) => t >= 2.1 && t < 2.2, { engineOut }))).toEqual([
      'entry inside 0',
      'entry outside warning 4.36',
    ]);
  });

  it('stops being missed when its cause is over', () => {
    expect(told(flight(() => false, { engineOut: (t) => t >= 2 && t < 3 }))).toEqual([
      'entry inside 0',
      'entry outside warning 2.36',
      'entry inside 3',
    ]);
  });

  it('runs on through a gap of its cause, which cannot be told meanwhile', () => {
    const causeCode: Code = (t) => (t >= 2.1 && t < 3 ? Validity.link : Validity.good);
    expect(told(flight(() => false, { causeCode }))).toEqual([
      'entry inside 0',
      'entry cannot tell 2.1',
      'entry outside warning 3',
    ]);
    // what is seen of the action in that gap counts
    expect(told(flight((t) => t >= 2.2 && t < 2.3, { causeCode }))).toEqual([
      'entry inside 0',
      'entry cannot tell 2.1',
      'entry inside 3',
    ]);
  });

  it('begins with the first sample on which its cause is known', () => {
    const causeCode: Code = (t) => (t < 3 ? Validity.link : Validity.good);
    expect(told(flight(() => false, { causeCode }))).toEqual(['entry inside 3', 'entry outside warning 3.36']);
  });

  it('has not acted by what it did while its cause could not be told yet', () => {
    const causeCode: Code = (t) => (t < 3 ? Validity.link : Validity.good);
    expect(told(flight((t) => t >= 1 && t < 2, { causeCode }))).toEqual([
      'entry inside 3',
      'entry outside warning 3.36',
    ]);
  });

  it('has acted though it did so at the first sample of its cause alone', () => {
    const samples = [0, 1, 2, 3].map((i) => ({
      time: i * SECOND,
      inputs: [Number(i >= 1), Number(i === 1)].map((value) => ({ value, usable: true })),
    }));
    const { told: values } = runMeasure((context) => compileAutomation(limit, context), samples, 1);
    expect(values.map(({ value }) => value)).toEqual([0, 0, 0, 0]);
  });

  it('goes on from a saved state, and refuses what is none', () => {
    const { measure } = compileAutomation(limit, measureContext()) as Measuring;
    for (const state of [undefined, { since: 1 }, { acted: true }, {}]) {
      expect(() => measure.restore(state)).toThrow('saved automation lacks when its cause began');
    }
    measure.restore({ since: 7, acted: true });
    expect(measure.save()).toEqual({ since: 7, acted: true });
  });

  it('cannot be told when it is due and its flag is lost; before that nothing is asked of it', () => {
    const flagCode: Code = (t) => (t >= 1 ? Validity.link : Validity.good);
    expect(told(flight(() => false, { flagCode }))).toEqual(['entry inside 0', 'entry cannot tell 2.36']);
  });

  it('is not asked for while its limit is not in force, and has all its time when it comes into force', () => {
    const of = flight(() => false);
    const gated = { ...of, limits: of.limits.map((limit) => ({ ...limit, while: 'AIRBORNE' })) };
    const airborne = { group: 'main', at: (t: number) => (t >= 3 ? 1 : 0) };
    const whole = { ...gated, signals: { ...gated.signals, AIRBORNE: airborne } };
    expect(told(whole)).toEqual(['entry inside 0', 'entry outside warning 3.36']);
  });
});
