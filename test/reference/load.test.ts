/** The load limit against slow twins: rainflow by striking out of a list, turns by sorting samples into them. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Rainflow } from '../../station/compute/rainflow.ts';
import { type LimitFlight, limitOf } from '../support/limit-flight.ts';
import { measuredColumn } from '../support/measured-column.ts';

/** Evenly spread, which doubles of the generator are not. */
const real = (min: number, max: number) =>
  fc.integer({ min: 0, max: 10_000 }).map((n) => min + ((max - min) * n) / 10_000);

/** Peaks and valleys of a record, its first value with them; the last one is left out, as it may not be one. */
function turningPoints(record: readonly number[]): number[] {
  const moving = record.filter((value, i) => i === 0 || value !== record[i - 1]);
  return moving.filter((value, i) => {
    if (i === 0) return true;
    const [before, after] = [moving[i - 1] as number, moving[i + 1]];
    return after !== undefined && value > before === value > after;
  });
}

/** ASTM E1049-85 5.4.4 word by word: read, form X and Y, compare, strike out; at the end what is left counts half. */
function slowRainflow(record: readonly number[], cost: (range: number) => number): number {
  const points = turningPoints(record);
  let total = 0;
  let read = 0;
  const list: number[] = [];
  for (;;) {
    const next = points[read++];
    if (next === undefined) break;
    list.push(next);
    while (list.length >= 3) {
      const x = Math.abs((list.at(-1) as number) - (list.at(-2) as number));
      const y = Math.abs((list.at(-2) as number) - (list.at(-3) as number));
      if (x < y) break;
      if (list.length === 3) {
        total += cost(y) / 2;
        list.shift();
      } else {
        total += cost(y);
        list.splice(list.length - 3, 2);
      }
    }
  }
  for (let i = 1; i < list.length; i++) total += cost(Math.abs((list[i] as number) - (list[i - 1] as number))) / 2;
  return total;
}

describe('rainflow against its slow twin', () => {
  it('counts the same of random records at every sample', () => {
    const records = fc.array(fc.oneof(fc.integer({ min: -5, max: 5 }), real(-5, 5)), {
      minLength: 1,
      maxLength: 80,
    });
    let cycles = 0;
    fc.assert(
      fc.property(records, fc.constantFrom(1, 2, 3.3), (record, exponent) => {
        const cost = (range: number) => range ** exponent;
        const rainflow = new Rainflow(cost);
        record.forEach((value, i) => {
          rainflow.push(value);
          const slow = slowRainflow(record.slice(0, i + 1), cost);
          expect(Math.abs(rainflow.total() - slow)).toBeLessThanOrEqual(1e-9 * slow);
          if (slow > 0) cycles++;
        });
      }),
      { seed: 1401, numRuns: 300 },
    );
    expect(cycles).toBeGreaterThan(1000);
  });
});

describe('loads of a turn against their slow twin', () => {
  it('are the same at every sample of random loads with gaps', () => {
    const RATE = 200;
    let told = 0;
    fc.assert(
      fc.property(
        fc.array(real(-100, 100), { minLength: 50, maxLength: 50 }),
        fc.uniqueArray(fc.integer({ min: 0, max: 799 }), { maxLength: 4 }),
        real(4.01, 7.99),
        fc.constantFrom('mean', 'half-range'),
        (values, bad, speed, measure) => {
          const at = (_: number, i: number) => (values[i % 50] as number) + i / 10;
          const flight: LimitFlight = {
            seconds: 4,
            groups: { fast: RATE },
            signals: {
              LOAD: { group: 'fast', unit: 'N', at, code: (_, i) => (bad.includes(i) ? 9 : 0) },
              NR: { group: 'fast', unit: 'Hz', at: () => speed },
            },
            limits: [limitOf('l', 'load', 'LOAD', { settings: { tach: 'NR', measure } })],
          };
          const { value } = measuredColumn(flight);
          const turnOf = (i: number) => Math.floor((i * speed) / RATE);
          for (let i = 0; i < value.length; i++) {
            const inTurn = Array.from(value, (_, k) => k).filter((k) => turnOf(k) === turnOf(i) - 1);
            const isGood = inTurn.length > 0 && !inTurn.some((k) => bad.includes(k));
            if (bad.includes(i) || !isGood) expect(value[i]).toBeNaN();
            else {
              const loads = inTurn.map((k) => at(0, k));
              const [high, low] = [Math.max(...loads), Math.min(...loads)];
              expect(value[i]).toBeCloseTo(measure === 'mean' ? (high + low) / 2 : (high - low) / 2, 9);
              told++;
            }
          }
        },
      ),
      { seed: 1402, numRuns: 100 },
    );
    expect(told).toBeGreaterThan(10_000);
  });
});
