/** How a benchmark is timed and told: product and baseline in turn, medians, and the machine it ran on. */
import { cpus, totalmem } from 'node:os';

export interface Row {
  name: string;
  value: number;
  unit: string;
  /** the baseline measured in the same rounds, same unit */
  baseline: number;
  /** value / baseline, median of the rounds' own ratios */
  ratio: number;
  /** lowest and highest ratio of any round */
  spread: [number, number];
  /** what performance we aim for; absent = printed, not judged */
  target?: number;
  met?: boolean;
}

export interface Part {
  part: string;
  rows: Row[];
}

export const machine = () => ({
  cpu: cpus()[0]?.model ?? 'unknown',
  cores: cpus().length,
  memoryBytes: totalmem(),
  node: process.version,
  platform: `${process.platform} ${process.arch}`,
});

export const median = (values: readonly number[]): number => {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted.length >> 1;
  return sorted.length % 2
    ? (sorted[middle] as number)
    : ((sorted[middle - 1] as number) + (sorted[middle] as number)) / 2;
};

/** Seconds a call takes. */
export function seconds(run: () => void): number {
  const begin = process.hrtime.bigint();
  run();
  return Number(process.hrtime.bigint() - begin) / 1e9;
}

/**
 * Times `product` and `baseline` in turn for some rounds after one that is not counted. Each gives what it did in one
 * round (samples, say) per second.
 */
export async function compare(
  name: string,
  unit: string,
  rounds: number,
  product: () => number | Promise<number>,
  baseline: () => number | Promise<number>,
  target?: number,
): Promise<Row> {
  const values: number[] = [];
  const baselines: number[] = [];
  for (let round = -1; round < rounds; round++) {
    globalThis.gc?.();
    const value = await product();
    globalThis.gc?.();
    const base = await baseline();
    if (round < 0) continue;
    values.push(value);
    baselines.push(base);
  }
  const ratios = values.map((value, i) => value / (baselines[i] as number));
  const ratio = median(ratios);
  const judged = target === undefined ? {} : { target, met: ratio >= target };
  return {
    name,
    value: median(values),
    unit,
    baseline: median(baselines),
    ratio,
    spread: [Math.min(...ratios), Math.max(...ratios)],
    ...judged,
  };
}
