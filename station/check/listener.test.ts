/** What a listener is told of a run: every sample of what every limit measures, and nothing when there is none. */
import { expect, it } from 'vitest';
import type { Limit } from '../../protocol/limit.ts';
import { Validity } from '../../protocol/validity.ts';
import { limitOf } from '../../test/support/limit-flight.ts';
import { batchOf, framesAt } from '../../test/support/tiny-batch.ts';
import { group, levelLimit, mission, parameter } from '../../test/support/tiny-mission.ts';
import { IN_FORCE, type MeasuredColumn, type MeasureListener, NOT_IN_FORCE } from '../listener.ts';
import { type Check, compileCheck } from './check.ts';

const limits: Limit[] = [
  levelLimit('plain', 'A', { above: { caution: 50 } }),
  levelLimit('gated', 'A', { above: { caution: 50 }, while: 'G' }),
  limitOf('depends', 'depends', 'A', { above: { caution: 5 }, settings: { on: 'B' } }),
  levelLimit('slow', 'S', { above: { caution: 50 } }),
];
const of = mission({
  groups: [group('main', 100), group('other', 10)],
  parameters: [parameter('A', 'main'), parameter('B', 'main'), parameter('G', 'main'), parameter('S', 'other')],
  limits,
});
const checkOf = (): Check => {
  const { value, findings } = compileCheck(of);
  expect(findings).toEqual([]);
  return value as Check;
};

/** Copies of all it is told, in order. */
class Ear implements MeasureListener {
  readonly told: (string | Record<string, unknown>)[] = [];
  mission(): void {}
  limits(): void {}
  batches(batches: readonly unknown[]): void {
    this.told.push(`batches ${batches.map((batch, g) => (batch ? g : 'none')).join(' ')}`);
  }
  column({ limit, group: g, length, time, values, validity, gate, reference }: MeasuredColumn): void {
    const list = (array: ArrayLike<number> | undefined) => array && Array.from(array).slice(0, length);
    this.told.push({
      limit: limits[limit]?.id,
      group: g,
      time: list(time),
      values: list(values),
      validity: list(validity),
      gate: list(gate),
      reference: list(reference),
    });
  }
}

const run = (check: Check): void => {
  const main = batchOf(
    0,
    [0, 1, 2],
    [
      { time: 10, values: [60, 40, 1] },
      { time: 20, values: [70, 40, 0] },
      { time: 30, values: [80, 41, 1], validity: [Validity.range, 0, 0] },
    ],
  );
  check.run([main, undefined], framesAt([10]));
};

const times = { group: 0, time: [10, 20, 30] };
const own = { ...times, values: [60, 70, 80], validity: [0, 0, Validity.range], reference: undefined };
const expected = [
  'batches 0 none',
  { limit: 'plain', ...own, gate: undefined },
  { limit: 'gated', ...own, gate: [IN_FORCE, NOT_IN_FORCE, IN_FORCE] },
  {
    limit: 'depends',
    ...times,
    values: [20, 30, expect.anything()],
    validity: [0, 0, Validity.input],
    gate: undefined,
    reference: [40, 40, expect.anything()],
  },
];

it('batches first, then a column for every limit with samples: values, codes, whether in force, reference', () => {
  const check = checkOf();
  const ear = new Ear();
  check.hear(ear);
  run(check);
  expect(ear.told).toEqual(expected);
});

it('steady samples, which change nothing, are told too', () => {
  const check = checkOf();
  const ear = new Ear();
  check.hear(ear);
  for (let n = 0; n < 3; n++) run(check);
  expect(ear.told).toEqual([...expected, ...expected, ...expected]);
});

it('who hears no more is told no more', () => {
  const check = checkOf();
  const ear = new Ear();
  check.hear(ear);
  check.hear(undefined);
  run(check);
  expect(ear.told).toEqual([]);
});

it('the limits say the same whether anybody hears or not', () => {
  const [heard, alone] = [checkOf(), checkOf()];
  heard.hear(new Ear());
  for (const check of [heard, alone]) run(check);
  expect(heard.save()).toEqual(alone.save());
  expect(structuredClone(heard.read())).toEqual(structuredClone(alone.read()));
});
