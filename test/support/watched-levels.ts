/** Levels over two columns of one rate group, run by hand: what they tell, say, and look at. */
import type { Batch } from '../../protocol/batch.ts';
import { conditions, type Limit, type LimitsView } from '../../protocol/limit.ts';
import { Validity } from '../../protocol/validity.ts';
import { batchOf } from './tiny-batch.ts';
import { levelLimit } from './tiny-mission.ts';
import { Changes, type GateSource, type KindRun, type Numbered } from '../../station/check/kind.ts';
import { Levels, type MeasureWords } from '../../station/check/levels.ts';

const { good, link } = Validity;

/** Levels that write down which samples they look at closely. */
export class Watched extends Levels {
  protected override take(...[row, time, ...more]: Parameters<Levels['take']>): void {
    seen.push(time);
    super.take(row, time, ...more);
  }
}

/** `while` the second column of the group is not zero. */
export const gate: GateSource = { source: { group: 0, place: 1 }, oldest: 1000 };
export const numbered = (limit: Partial<Limit>, more: Partial<Numbered> = {}): Numbered => ({
  index: 0,
  limit: levelLimit('x', 'A', limit),
  watched: { group: 0, place: 0 },
  gates: [],
  ...more,
});
export const levelsOf = (limit: Partial<Limit>, more: Partial<Numbered> = {}, words?: MeasureWords): Watched =>
  new Watched([numbered(limit, more)], { staleAfter: [1000, 1000] }, words);

export type Sample = readonly [time: number, value: number, on?: number];
/** NaN stands for a value that is not usable. */
export const batch = (...samples: Sample[]): Batch =>
  batchOf(
    0,
    [0, 1],
    samples.map(([time, value, on = 1]) => ({
      time,
      values: [value, on],
      validity: [value, on].map((one) => (one === one ? good : link)),
    })),
  );

/** Aircraft times of the samples that were looked at closely in the newest call of `told`. */
export const seen: number[] = [];

/** What the samples change, as text: time, condition, level. `seen` has those looked at closely. */
export function told(levels: Watched, block: Batch | undefined, gating = block): string[] {
  const changes = new Changes();
  seen.length = 0;
  levels.lookAtGates([gating]);
  levels.judge([block], changes);
  return changes.list.map(({ aircraft, condition, level }) => `${aircraft} ${condition}${level ? ` ${level}` : ''}`);
}

/** What levels, or limits that measure, say when they are asked. */
export function view(
  levels: Pick<KindRun, 'read'>,
  size = 1,
): { condition: string; level: number; value: number; next: number }[] {
  const into: LimitsView = {
    condition: new Uint8Array(size).fill(99),
    level: new Uint8Array(size).fill(99),
    value: new Float64Array(size),
    next: new Float64Array(size),
  };
  levels.read(into);
  return Array.from({ length: size }, (_, i) => ({
    condition: conditions[into.condition[i] as number] ?? 'none',
    level: into.level[i] as number,
    value: into.value[i] as number,
    next: into.next[i] as number,
  }));
}
