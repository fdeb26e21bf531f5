/** Automation and sequences against their slow twins, under random conditions with losses. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { SECOND } from '../../protocol/time.ts';
import { Validity } from '../../protocol/validity.ts';
import { fly, type LimitFlight, limitOf } from '../support/limit-flight.ts';
import { measuredColumn } from '../support/measured-column.ts';
import { seeded } from './limit-scenario.ts';
import { type Known, type Seen, type SlowResult, slowAutomation, slowSequence } from './slow-conditions.ts';

const RATE = 20;
const SAMPLES = 160;

/** True and false for a while each, lost now and then. */
function randomCondition(seed: number, share: number): Known[] {
  const chance = seeded(seed);
  let value = false;
  let lost = 0;
  return Array.from({ length: SAMPLES }, () => {
    if (chance() < 0.12) value = chance() < share;
    if (chance() < 0.02) lost = 1 + Math.floor(chance() * 12);
    return lost-- > 0 ? undefined : value;
  });
}

function signalsOf(conditions: Record<string, Known[]>): LimitFlight['signals'] {
  return Object.fromEntries(
    Object.entries(conditions).map(([id, known]) => [
      id,
      {
        group: 'main',
        // any number but zero is true
        at: (_: number, i: number) => (known[i] ? 1 + (i % 3) : 0),
        code: (_: number, i: number) => (known[i] === undefined ? Validity.frozen : Validity.extrapolated),
      },
    ]),
  );
}

const historyOf = (conditions: Record<string, Known[]>): Seen[] =>
  Array.from({ length: SAMPLES }, (_, i) => ({
    time: Math.round((i / RATE) * SECOND),
    of: Object.fromEntries(Object.entries(conditions).map(([id, known]) => [id, known[i]])),
  }));

function compare(flight: LimitFlight, slow: (length: number) => SlowResult, counts: number[]): void {
  const { value, detail } = measuredColumn(flight);
  for (let i = 0; i < SAMPLES; i++) {
    const expected = slow(i + 1);
    const told = { value: Number.isNaN(value[i]) ? undefined : value[i], detail: detail[i] };
    expect(told, `sample ${i}`).toEqual(expected);
    counts[expected.value === undefined ? 2 : expected.value]++;
  }
}

const base = { seconds: SAMPLES / RATE, groups: { main: RATE } };

describe('conditions against their slow twins', () => {
  it('automation that should act', () => {
    const counts = [0, 0, 0];
    fc.assert(
      fc.property(fc.integer(), fc.integer({ min: 0, max: 20 }), (seed, within) => {
        const conditions = { cause: randomCondition(seed, 0.7), action: randomCondition(seed + 1, 0.2) };
        const settings = { if: 'cause', then: 'action', within: (within * SECOND) / RATE };
        const limits = [limitOf('a', 'automation', 'cause', { above: { warning: 0.5 }, settings })];
        const flight = { ...base, signals: signalsOf(conditions), limits };
        const history = historyOf(conditions);
        compare(flight, (length) => slowAutomation(history.slice(0, length), settings.within), counts);
        fly(flight, 1);
      }),
      { seed: 2001, numRuns: 80 },
    );
    expect(Math.min(...counts)).toBeGreaterThan(1000);
  });

  it('sequences of steps', () => {
    const counts = [0, 0, 0];
    const step = fc.integer({ min: 0, max: 12 });
    fc.assert(
      fc.property(fc.integer(), fc.array(step, { minLength: 1, maxLength: 4 }), fc.boolean(), (seed, times, hasEnd) => {
        const steps = times.map((within, k) => ({
          name: `step ${k}`,
          when: `s${k}`,
          within: (within * SECOND) / RATE,
        }));
        const conditions: Record<string, Known[]> = { begins: randomCondition(seed, 0.3) };
        if (hasEnd) conditions.ends = randomCondition(seed + 1, 0.1);
        steps.forEach(({ when }, k) => {
          conditions[when] = randomCondition(seed + 2 + k, 0.25);
        });
        const settings = { begins: 'begins', steps, ...(hasEnd && { ends: 'ends' }) };
        const limits = [limitOf('s', 'sequence', 'begins', { above: { warning: 0.5 }, settings })];
        const flight = { ...base, signals: signalsOf(conditions), limits };
        const history = historyOf(conditions);
        compare(flight, (length) => slowSequence(history.slice(0, length), steps), counts);
        fly(flight, 1);
      }),
      { seed: 2101, numRuns: 80 },
    );
    expect(Math.min(...counts)).toBeGreaterThan(1000);
  });

  it('validity for any reason and for one', () => {
    const counts = [0, 0, 0];
    const chain: Record<string, number> = {
      link: 8,
      'bad checksum': 9,
      'rate wrong': 10,
      stale: 11,
      frozen: 12,
      'out of range': 13,
      implausible: 14,
    };
    const reasons = fc.constantFrom('any', ...Object.keys(chain));
    fc.assert(
      fc.property(fc.integer(), reasons, fc.integer({ min: 1, max: 3 }), (seed, reason, many) => {
        const chance = seeded(seed);
        const wanted = chain[reason] ?? 12;
        const ids = ['A', 'B', 'C'].slice(0, many);
        const codes = ids.map(() =>
          Array.from({ length: SAMPLES }, () => {
            const dice = chance();
            return dice < 0.7 ? Math.floor(chance() * 3) : dice < 0.8 ? wanted : 8 + Math.floor(chance() * 10);
          }),
        );
        const signals = ids.map((id, k) => [
          id,
          { group: 'main', at: () => 1, code: (_: number, i: number) => codes[k]?.[i] },
        ]);
        const limits = [
          limitOf('v', 'validity', 'A', { above: { caution: 0.5 }, settings: { parameters: ids, reason } }),
        ];
        const flight = { ...base, signals: Object.fromEntries(signals) as LimitFlight['signals'], limits };
        const { value } = measuredColumn(flight);
        value.forEach((told, i) => {
          const own = codes.map((column) => column[i] as number);
          const isBad = (code: number): Known => {
            if (code < 8) return false;
            if (reason === 'any') return true;
            // of a received parameter "an input is not usable" says that its newest sample is too old
            const place = code === 15 ? 11 : code;
            if (place === wanted) return true;
            return place > wanted && place <= 14 ? false : undefined;
          };
          const said = own.map(isBad);
          const expected = said.includes(true) ? 1 : said.includes(undefined) ? undefined : 0;
          expect(Number.isNaN(told) ? undefined : told, `${reason} of ${own}`).toBe(expected);
          counts[expected ?? 2]++;
        });
      }),
      { seed: 2201, numRuns: 80 },
    );
    expect(Math.min(...counts)).toBeGreaterThan(500);
  });
});
