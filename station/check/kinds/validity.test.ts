import { describe, expect, it } from 'vitest';
import { checkOf, fly, type LimitFlight, limitOf, lines, START } from '../../../test/support/limit-flight.ts';
import { batchOf } from '../../../test/support/tiny-batch.ts';
import { framesAt } from '../../../test/support/tiny-batch.ts';
import type { SettingValue } from '../../../protocol/limit.ts';
import { aircraftTime, groundTime, SECOND } from '../../../protocol/time.ts';
import { Validity } from '../../../protocol/validity.ts';
import { measureContext, runMeasure } from '../../../test/support/run-measure.ts';
import { derived } from '../../../test/support/tiny-mission.ts';
import type { MeasureContext } from '../measured.ts';
import { compileValidity } from './validity.ts';

const codeFrom =
  (code: number, at: number, until = Infinity) =>
  (t: number) =>
    t >= at && t < until ? code : Validity.good;

function flight(
  signals: LimitFlight['signals'],
  settings: Record<string, SettingValue> = {},
  persistence = 0,
): LimitFlight {
  return {
    seconds: 5,
    groups: { main: 100, slow: 20 },
    signals: { A: { group: 'main', at: (t) => t }, ...signals },
    limits: [limitOf('data', 'validity', 'A', { above: { caution: 0.5 }, persistence, settings })],
  };
}

const told = (of: LimitFlight): string[] => lines(fly(of), of);

describe('a limit of data validity', () => {
  it('belongs to the family of data and watches its own parameter when none is named', () => {
    const of = flight({ A: { group: 'main', at: () => 1, code: codeFrom(Validity.frozen, 2, 3) } });
    expect(told(of)).toEqual([
      'data inside 0',
      'data outside caution 2 (A: frozen: identical counts where noise is normal)',
      'data inside 3',
    ]);
  });

  it.each([
    ['link', Validity.link, 'link lost'],
    ['bad checksum', Validity.frame, 'frame damaged'],
    ['rate wrong', Validity.rate, 'rate wrong'],
    ['stale', Validity.stale, 'stale: no new sample in time'],
    ['frozen', Validity.frozen, 'frozen: identical counts where noise is normal'],
    ['out of range', Validity.range, 'outside the physical range'],
    ['implausible', Validity.plausible, 'implausible against others'],
  ])('sees the reason %s, alone or among any', (reason, code, words) => {
    for (const chosen of [reason, 'any']) {
      const of = flight({ A: { group: 'main', at: () => 1, code: codeFrom(code, 2) } }, { reason: chosen });
      expect(told(of)).toEqual(['data inside 0', `data outside caution 2 (A: ${words})`]);
    }
  });

  it('waits for its persistence', () => {
    const of = flight({ A: { group: 'main', at: () => 1, code: codeFrom(Validity.range, 2) } }, {}, SECOND);
    expect(told(of)[2]).toBe('data outside caution 3 (A: outside the physical range)');
  });

  it('of one reason cannot tell what an earlier link of the chain hides, and knows that a later one is past it', () => {
    const of = (code: number) =>
      flight({ A: { group: 'main', at: () => 1, code: codeFrom(code, 2) } }, { reason: 'frozen' });
    for (const code of [Validity.link, Validity.frame, Validity.rate, Validity.stale]) {
      expect(told(of(code))).toEqual(['data inside 0', 'data cannot tell 2']);
    }
    for (const code of [Validity.range, Validity.plausible]) expect(told(of(code))).toEqual(['data inside 0']);
    for (const code of [Validity.undefined, Validity.none]) {
      expect(told(of(code))).toEqual(['data inside 0', 'data cannot tell 2']);
    }
  });

  it('passes marks on values that may be used', () => {
    for (const code of [Validity.unchecked, Validity.extrapolated]) {
      expect(told(flight({ A: { group: 'main', at: () => 1, code: codeFrom(code, 2) } }))).toEqual(['data inside 0']);
    }
  });

  it('names the first of several that is not usable, and does not hold one for another', () => {
    const parameters = ['A', 'B', 'C'];
    const of = flight(
      {
        B: { group: 'slow', at: () => 1, code: codeFrom(Validity.range, 2, 3) },
        C: { group: 'main', at: () => 1, code: codeFrom(Validity.plausible, 4) },
      },
      { parameters },
    );
    expect(told(of)).toEqual([
      'data inside 0',
      'data outside caution 2 (B: outside the physical range)',
      'data inside 3',
      'data outside caution 4 (C: implausible against others)',
    ]);
  });

  it('finds true what one says though of another it cannot be told', () => {
    const signals = {
      B: { group: 'main', at: () => 1, code: codeFrom(Validity.link, 1) },
      C: { group: 'main', at: () => 1, code: codeFrom(Validity.frozen, 2) },
    };
    for (const parameters of [
      ['B', 'C'],
      ['C', 'B'],
    ]) {
      expect(told(flight(signals, { parameters, reason: 'frozen' }))).toEqual([
        'data inside 0',
        'data cannot tell 1',
        'data outside caution 2 (C: frozen: identical counts where noise is normal)',
      ]);
    }
  });

  it('calls what does not come any more stale, at the age its group may have', () => {
    const of = flight({ B: { group: 'slow', at: () => 1 } }, { parameters: ['B'] });
    const gone = { ...of, missing: (id: string, t: number) => id === 'slow' && t > 1 };
    // the newest sample is of 1.00 s and may be 0.5 s old
    const late = ['data inside 0', 'data outside caution 1.51 (B: stale: no new sample in time)'];
    expect(told(gone)).toEqual(late);
    const alone = (reason: string) =>
      told({ ...flight({ B: { group: 'slow', at: () => 1 } }, { parameters: ['B'], reason }), missing: gone.missing });
    expect(alone('stale')).toEqual(late);
    expect(alone('link')).toEqual(['data inside 0']);
    expect(alone('frozen')).toEqual(['data inside 0', 'data cannot tell 1.51']);
  });

  it('does not call what is derived stale for the sake of its inputs, nor a lost link a formula', () => {
    const context = measureContext();
    context.mission.derived = [derived('MEAN', 'A', 'B')];
    const measured = (reason: string, code: number) => {
      const limit = limitOf('data', 'validity', 'A', { settings: { parameters: ['A', 'MEAN'], reason } });
      const samples = [{ time: 0, inputs: [0, code].map((one) => ({ value: Number.NaN, usable: true, code: one })) }];
      (samples[0] as (typeof samples)[0]).inputs[0] = { value: 1, usable: true, code: Validity.good };
      const make = (of: MeasureContext) =>
        compileValidity(limit as Parameters<typeof compileValidity>[0], { ...of, mission: context.mission });
      return runMeasure(make, samples, 1).told.map(({ value, detail }) => [value, detail])[0];
    };
    expect(measured('stale', Validity.input)?.[0]).toBeNaN();
    expect(measured('any', Validity.input)).toEqual([1, 'MEAN: an input is not usable']);
    expect(measured('any', Validity.link)).toEqual([1, 'MEAN: link lost']);
    expect(measured('any', Validity.good)).toEqual([1, 'MEAN: the formula has no value here']);
  });

  it('takes a value that is no number for one that is not usable', () => {
    const of = flight({ A: { group: 'main', at: (t) => (t >= 2 ? Number.NaN : 1) } });
    expect(told(of)).toEqual(['data inside 0', 'data outside caution 2 (A: the formula has no value here)']);
  });

  it.each([
    ['not in force', 0, Validity.good, []],
    ['in force', 1, Validity.good, ['data outside caution 0 (stale: no new sample in time)']],
    ['in force or not, which cannot be told', 1, Validity.frozen, []],
  ])('whose group goes stale while it is %s says so', (_, on, code, expected) => {
    const limit = limitOf('data', 'validity', 'A', { above: { caution: 0.5 }, while: 'ON' });
    const signals = { A: { group: 'main', at: () => 1 }, ON: { group: 'main', at: () => on } };
    const of = { seconds: 1, groups: { main: 100 }, signals, limits: [limit] };
    const check = checkOf(of);
    const instants = [{ time: START, values: [1, on], validity: [Validity.good, code] }];
    check.run([batchOf(0, [0, 1], instants)], framesAt([START]));
    const changes = check.stale(0, aircraftTime(START), groundTime(START + SECOND));
    expect(lines(changes, of)).toEqual(expected);
  });

  it('stands at once when its group goes stale, for the reason stale or any, and else cannot be told', () => {
    const staleOf = (reason: string) => {
      const of = flight({}, { reason }, SECOND);
      const check = checkOf(of);
      check.run([batchOf(0, [0], [{ time: START, values: [1] }]), undefined], framesAt([START]));
      const changes = check.stale(0, aircraftTime(START), groundTime(START + SECOND));
      return lines(changes, of);
    };
    expect(staleOf('any')).toEqual(['data outside caution 0 (stale: no new sample in time)']);
    expect(staleOf('stale')).toEqual(['data outside caution 0 (stale: no new sample in time)']);
    expect(staleOf('frozen')).toEqual(['data cannot tell 0']);
  });
});
