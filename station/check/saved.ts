/** What a measure carries as a few named numbers, saved and copied back. */

/** Copies the numbers of a saved record into `target`, which has their names; throws when one is missing. */
export function restoreNumbers(target: Record<string, number>, saved: unknown, what: string): void {
  const from = (saved ?? {}) as Record<string, unknown>;
  for (const name of Object.keys(target)) {
    const value = from[name];
    if (typeof value !== 'number') throw new Error(`saved ${what}: ${name} is not there`);
    target[name] = value;
  }
}
