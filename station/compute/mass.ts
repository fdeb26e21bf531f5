/** Mass, centre of gravity, control travel. Source: sums of moments, FAA-H-8083-1B; definitions. */

/** Mass of all parts together, kg; NaN when it is not above 0. */
export function grossMass(...parts: number[]): number {
  let sum = 0;
  for (const part of parts) sum += part;
  return sum > 0 ? sum : Number.NaN;
}

/**
 * Centre of gravity, m from the datum its arms are measured from: moments over masses, of mass (kg) and arm (m) by turns.
 * A part taken out has a negative mass; NaN when all together are not above 0.
 */
export function centreOfGravity(...parts: number[]): number {
  let mass = 0;
  let moment = 0;
  for (let i = 0; i + 1 < parts.length; i += 2) {
    mass += parts[i] as number;
    moment += (parts[i] as number) * (parts[i + 1] as number);
  }
  return mass > 0 ? moment / mass : Number.NaN;
}

/**
 * Control margin: way to the nearest stop over the way between the stops, 0.5 in the middle, 0 at a stop, negative beyond.
 * `low` must be below `high`.
 */
export const controlMargin = (position: number, low: number, high: number): number =>
  low < high ? Math.min(position - low, high - position) / (high - low) : Number.NaN;
