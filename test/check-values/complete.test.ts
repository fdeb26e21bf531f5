/**
 * The rows kept here against the collection they were copied from, where that is at hand: none is missing, and none was
 * changed on the way.
 */
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';

const collection = fileURLToPath(new URL('../../../shared/check-values.json', import.meta.url));

/** Groups of rows that this product must meet; others are about things it does not compute yet. */
const groups = ['ATM', 'PS', 'UN', 'CR', 'AL', 'SP', 'VI', 'WB'];

interface Row {
  id: string;
  inputs: Record<string, unknown>;
  expected: unknown;
  units: string;
  tolerance: unknown;
  source: string;
  how_known?: string[];
  fromMemory?: boolean;
}

const rowsOf = (file: URL): Row[] => JSON.parse(readFileSync(file, 'utf8')) as Row[];

describe.runIf(existsSync(collection))('the published check values', () => {
  const here = new URL('./', import.meta.url);
  const kept = new Map(
    readdirSync(here)
      .filter((name) => name.endsWith('.json'))
      .flatMap((name) => rowsOf(new URL(name, here)))
      .map((row) => [row.id, row]),
  );
  const { rows } = existsSync(collection)
    ? (JSON.parse(readFileSync(collection, 'utf8')) as { rows: Row[] })
    : { rows: [] };
  const wanted = rows.filter(({ id }) => groups.includes((id.match(/^[A-Z]+/) ?? [''])[0]));

  it('are all kept here', () => {
    expect(wanted.length).toBeGreaterThanOrEqual(230);
    expect(wanted.filter(({ id }) => !kept.has(id)).map(({ id }) => id)).toEqual([]);
  });

  it('are kept as they were, those from memory marked so', () => {
    for (const { id, inputs, expected, units, tolerance, source, how_known: known } of wanted) {
      expect(kept.get(id)).toMatchObject({ inputs, expected, units, tolerance, source });
      expect(kept.get(id)?.fromMemory === true, id).toBe(known?.includes('memory') === true);
    }
  });
});

if (!existsSync(collection)) console.warn(`skipped: the collection of check values is not at ${collection}`);
