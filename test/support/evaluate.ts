/** A formula of constants and of a few inputs, computed as the station computes it. */
import { findingText } from '../../protocol/finding.ts';
import type { Mission } from '../../protocol/mission.ts';
import { compileDerive } from '../../station/derive/derive.ts';
import { batchOf } from './tiny-batch.ts';
import { derived, group, mission, parameter } from './tiny-mission.ts';

const RATE = 100;

/** Input columns by name, `null` for a sample that is not usable; all of the pure unit. */
export type Inputs = Record<string, readonly (number | null)[]>;

/** What a formula gives for each sample of its inputs, 10 ms apart; NaN where it is not usable. */
export function evaluateAll(
  formula: string,
  unit: string,
  inputs: Inputs,
  more: Pick<Mission, 'tables' | 'boundaries'> = {},
): number[] {
  const ids = Object.keys(inputs);
  const of = mission({
    groups: [group('main', RATE)],
    parameters: (ids.length > 0 ? ids : ['NOTHING']).map((id) => parameter(id, 'main')),
    derived: [derived('RESULT', 'main', formula, { unit })],
    ...more,
  });
  const compiled = compileDerive(of);
  if (!compiled.value) throw new Error(compiled.findings.map(findingText).join('\n'));
  const columns = of.parameters.map((_, i) => i);
  const length = Math.max(1, ...Object.values(inputs).map((column) => column.length));
  const batch = batchOf(
    0,
    [...columns, columns.length],
    Array.from({ length }, (_, i) => {
      const row = ids.map((id) => inputs[id]?.[i] ?? null);
      const values = ids.length > 0 ? row.map((x) => x ?? Number.NaN) : [0];
      const validity = ids.length > 0 ? row.map((x) => (x === null ? 9 : 0)) : [0];
      return { time: 1e15 + (i * 1e6) / RATE, values: [...values, 0], validity: [...validity, 0] };
    }),
  );
  compiled.value.run([batch]);
  return [...(batch.values.at(-1) as Float64Array).subarray(0, length)];
}

/** What a formula of constants gives, in a unit. */
export const evaluate = (formula: string, unit: string): number => evaluateAll(formula, unit, {})[0] as number;
