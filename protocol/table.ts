/**
 * What formulas may look up: tables of values over one or two axes, and boundaries on the ground. Declared by a mission,
 * checked when it is loaded.
 */

export interface TableAxis {
  /** what is looked up along it, in words */
  name: string;
  /** unit of its points, as protocol/units.ts spells it */
  unit: string;
  /** points, strictly rising, at least two */
  at: number[];
}

/** Values between the points lie on straight lines; with two axes, straight along each axis. */
export interface Table {
  /** short name, unique among parameters, tables and boundaries */
  id: string;
  name: string;
  /** unit of the values */
  unit: string;
  axes: [TableAxis] | [TableAxis, TableAxis];
  /** one for each point; with two axes, all of the first axis' first point, then all of its second, ... */
  values: number[];
  /** beyond the first and last points: no value at all, or the value at the edge */
  outside: 'no value' | 'edge';
  source?: string;
  date?: string;
  place?: { file: string; line: number; column: number };
}

/** A closed line on the ground, WGS 84. */
export interface Boundary {
  /** short name, unique among parameters, tables and boundaries */
  id: string;
  name: string;
  /** the side to keep to */
  keep: 'inside' | 'outside';
  /** corners in order, the last one joined to the first: [latitude, longitude] in degrees */
  points: [latitude: number, longitude: number][];
  source?: string;
  place?: { file: string; line: number; column: number };
}
