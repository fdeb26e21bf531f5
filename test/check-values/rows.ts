/** Rows of published check values kept beside the tests, each with its source. */
import { readFileSync } from 'node:fs';

export interface CheckRow {
  id: string;
  quantity: string;
  inputs: Record<string, number>;
  expected: number;
  units: string;
  tolerance: number;
  source: string;
  /** a part of it (a formula, a coefficient, a value) was not found in a public copy */
  fromMemory?: boolean;
}

export function checkRows(name: string): CheckRow[] {
  return JSON.parse(readFileSync(new URL(`${name}.json`, import.meta.url), 'utf8')) as CheckRow[];
}

/** The name of the test of a row. */
export const rowName = ({ id, quantity, source, fromMemory }: CheckRow): string =>
  `${id}: ${quantity} (${fromMemory ? 'FROM MEMORY; ' : ''}${source})`;
