/** What a kind of limit is: what it measures, and the settings it has. The kinds themselves are in limit-kinds.ts. */

/**
 * Unit of what a kind measures: of the watched parameter, of its change in a second, one of the unit table, or `state`:
 * the measure is 0 or 1, and the limit names one level instead of values.
 */
export type MeasureUnit = 'watched' | 'watched per second' | 'state' | (string & {});

/** One setting of a kind. `unit` of a quantity: `watched`, `watched per second`, or one of the unit table. */
export type Setting = { summary: string; optional?: true } & (
  | { type: 'parameter'; unit?: string }
  | { type: 'parameters'; least: number; most: number; unit?: string }
  /** a parameter that is not zero, or a formula that yields 1 or 0; loaded as the id of a parameter */
  | { type: 'condition' }
  | { type: 'steps' }
  /** loaded in microseconds */
  | { type: 'duration'; default?: number }
  | { type: 'quantity'; unit: string; default?: number; least?: number; most?: number }
  | { type: 'quantities'; unit: string; least: number; most: number }
  | { type: 'whole'; default?: number; least: number; most: number }
  | { type: 'choice'; of: readonly string[]; default?: string }
  | { type: 'table' }
  | { type: 'boundary' }
  | { type: 'limit' }
  /** AND, OR, NOT over limits: read by the kind itself */
  | { type: 'expression' }
  /** corners or points, in two units */
  | { type: 'points'; units: readonly [string, string]; least: number }
);

export interface LimitKind {
  /** number in the list of kinds of the README */
  number: number;
  summary: string;
  /** `by`: the setting whose choice tells it */
  measure: MeasureUnit | { by: string; units: Readonly<Record<string, MeasureUnit>> };
  /** which sides its levels may be on; a `state` has none */
  sides: 'both' | 'above' | 'below';
  /** whether the parameter of the limit is what is watched, or only brings the samples at which the kind looks */
  parameter: 'watched' | 'driver';
  /** data: an alarm of this kind is one of the data-quality family */
  family?: 'data';
  settings: Readonly<Record<string, Setting>>;
}

/** What a setting is once it is loaded. */
export type ValueOf<S extends Setting> = S['type'] extends 'duration' | 'quantity' | 'whole'
  ? number
  : S['type'] extends 'parameters'
    ? readonly string[]
    : S['type'] extends 'quantities'
      ? readonly number[]
      : S['type'] extends 'points'
        ? readonly (readonly [number, number])[]
        : S['type'] extends 'steps'
          ? readonly { name: string; when: string; within: number }[]
          : string;

/** A unit of this table in the spelling of the unit table. */
export function spelt(unit: string, watched: string): string {
  if (unit === 'watched') return watched;
  if (unit !== 'watched per second') return unit;
  const [top, bottom] = watched.split('/', 2) as [string, string?];
  return bottom === undefined ? `${top}/s` : `${top}/(${bottom.replace(/[()]/g, '')} s)`;
}
