/**
 * Every plain function of the formula language, called from a formula over random samples, against the function itself
 * called sample by sample: units, settings, validity and values. And the list of those that have a slow twin instead.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { findingText } from '../../protocol/finding.ts';
import { parseUnit } from '../../protocol/units.ts';
import type { Boundary } from '../../protocol/table.ts';
import { argumentAt, type FormulaFunction, type Thing } from '../../station/derive/function.ts';
import { functions } from '../../station/derive/functions.ts';
import { compileDerive } from '../../station/derive/derive.ts';
import { batchOf } from '../support/tiny-batch.ts';
import { derived, group, mission, parameter } from '../support/tiny-mission.ts';
import { tables } from './slow-library.ts';

const boundaries: Boundary[] = [
  {
    id: 'RANGE',
    name: 'Range',
    keep: 'inside',
    points: [
      [50, -30],
      [50.2, -30],
      [50.2, -29.5],
      [50, -29.5],
    ],
  },
];

const list = [...functions.values()];
const plainOnes = list.filter(({ work }) => work.kind === 'plain' || work.kind === 'made');

/** Values that some function has a use for, and some that none has. */
const values = fc.constantFrom(-1, 0, 0.3, 1, 2, 5, 20, 45, 50.1, 288.15, 900, 101_325, 1e300, -29.8);
const codes = fc.constantFrom(0, 0, 0, 0, 0, 0, 1, 2, 9);
const sampleOf = (count: number) => fc.array(fc.tuple(values, codes), { minLength: count, maxLength: count });

/** Arguments as columns, settings as they are when left out or, where they cannot be, in the middle of their bounds. */
function callOf(one: FormulaFunction) {
  const inputs: string[] = [];
  const settings: number[] = [];
  const parts: string[] = [];
  const count = one.args.length + one.repeats;
  for (let i = 0; i < count; i++) {
    const { unit, setting, thing } = argumentAt(one, i);
    if (thing === 'table') parts.push('SHEET');
    else if (thing === 'boundary') parts.push('RANGE');
    else if (setting) {
      const value = setting.otherwise ?? (setting.whole ? 3 : (setting.from + setting.to) / 2);
      settings.push(value);
      parts.push(`${value}${unit === '1' ? '' : `[${unit}]`}`);
    } else {
      const spelled = parseUnit(unit) ? unit : '1';
      parts.push(`I${inputs.length}`);
      inputs.push(spelled);
    }
  }
  const wanted = one.args[0]?.thing;
  const thing: Thing | undefined = wanted === 'table' ? tables[1] : wanted === 'boundary' ? boundaries[0] : undefined;
  return { formula: `${one.name}(${parts.join(', ')})`, inputs, settings, thing };
}

describe('every plain function', () => {
  it.each(plainOnes.map((one) => [one.name, one] as const))('%s: called as it says, whatever the samples', (_, one) => {
    const { formula, inputs, settings, thing } = callOf(one);
    const unit = typeof one.result === 'string' ? one.result : one.result(parseUnit('1') as never).name;
    const of = mission({
      groups: [group('main', 100)],
      parameters: inputs.map((of, i) => parameter(`I${i}`, 'main', { unit: of })),
      derived: [derived('D', 'main', formula, { unit })],
      tables,
      boundaries,
    });
    const stage = compileDerive(of);
    if (!stage.value) throw new Error(stage.findings.map(findingText).join('\n'));
    const { work } = one;
    const apply =
      work.kind === 'made' ? work.make(thing, settings) : work.kind === 'plain' ? work.of : () => Number.NaN;
    const all = work.kind === 'plain' ? settings : [];
    fc.assert(
      fc.property(fc.array(sampleOf(inputs.length), { minLength: 1, maxLength: 12 }), (rows) => {
        const columns = [...inputs.map((_, i) => i), inputs.length];
        const batch = batchOf(
          0,
          columns,
          rows.map((row, i) => ({
            time: i * 10_000,
            values: [...row.map(([value]) => value), 0],
            validity: [...row.map(([, code]) => code), 0],
          })),
        );
        stage.value.run([batch]);
        for (const [i, row] of rows.entries()) {
          const worst = Math.max(...row.map(([, code]) => code));
          const expected = worst >= 8 ? Number.NaN : apply(...row.map(([value]) => value), ...all);
          const code = worst >= 8 ? 15 : Number.isFinite(expected) ? worst : 16;
          expect(batch.validity.at(-1)?.[i]).toBe(code);
          if (code < 8) expect((batch.values.at(-1)?.[i] as number) + 0).toBe(expected + 0);
        }
      }),
      { seed: 99, numRuns: 40 },
    );
  });
});

/** Compared otherwise: sums whose rounding no other order of adding repeats, and geodesics of the library. */
const otherwise = ['lowpass', 'rate', 'ground_speed', 'track'];

describe('every function that remembers or votes', () => {
  it('has a slow twin, or is one of the few that are tested otherwise', async () => {
    const { readFileSync } = await import('node:fs');
    const text = ['slow-formula', 'slow-library', 'slow-memory']
      .map((name) => readFileSync(new URL(`${name}.ts`, import.meta.url), 'utf8'))
      .join('');
    const rest = list.filter((one) => !plainOnes.includes(one)).map(({ name }) => name);
    const without = rest.filter((name) => !new RegExp(`['\`(]${name}\\b`).test(text));
    expect(without).toEqual(otherwise);
  });
});
