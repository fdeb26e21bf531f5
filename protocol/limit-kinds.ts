/**
 * The kinds of limit as data: what each measures, in which unit, and the settings it has. From this one table come the
 * keys of limits.yaml and their schema, how they are read, the editor's fields and the README's table; the arithmetic is
 * in station/check/kinds/.
 */

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
  | { type: 'yes'; default?: boolean }
  | { type: 'words' }
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

const kind = <S extends Record<string, Setting>>(of: Omit<LimitKind, 'settings'> & { settings: S }) => of;

/** What times a rotor, for the kinds that follow one. */
const rotor = {
  tach: { type: 'parameter', summary: 'speed of the rotor, in %, rpm or Hz' },
  'hundred percent': {
    type: 'quantity',
    unit: 'rpm',
    optional: true,
    summary: 'what it turns at 100 %, for a tach in %',
  },
} as const satisfies Record<string, Setting>;

export const limitKinds = {
  level: kind({
    number: 1,
    summary: 'low and high values',
    measure: 'watched',
    sides: 'both',
    parameter: 'watched',
    settings: {},
  }),
  rate: kind({
    number: 2,
    summary: 'rate of change, by a least-squares slope over a window',
    measure: 'watched per second',
    sides: 'both',
    parameter: 'watched',
    settings: {
      window: { type: 'duration', summary: 'aircraft time the slope is taken over' },
    },
  }),
  'time at level': kind({
    number: 3,
    summary: 'seconds in a band of values; a gap counts as time in the band',
    measure: 's',
    sides: 'above',
    parameter: 'watched',
    settings: {
      over: { type: 'quantity', unit: 'watched', optional: true, summary: 'in the band when greater than this' },
      'up to': { type: 'quantity', unit: 'watched', optional: true, summary: 'in the band up to this' },
      count: {
        type: 'choice',
        of: ['each time', 'whole flight'],
        default: 'each time',
        summary: 'whether the seconds begin at 0 each time the band is entered, or add up',
      },
      margin: {
        type: 'quantity',
        unit: 'watched',
        default: 0,
        least: 0,
        summary: 'how far beyond the band it must be to have left it',
      },
    },
  }),
  peak: kind({
    number: 4,
    summary: 'highest or lowest value since the limit came in force, from every sample',
    measure: 'watched',
    sides: 'both',
    parameter: 'watched',
    settings: {
      of: { type: 'choice', of: ['highest', 'lowest'], default: 'highest', summary: 'which peak is kept' },
      steps: {
        type: 'quantities',
        unit: 'watched',
        least: 1,
        most: 10,
        optional: true,
        summary: 'values beyond each of which the seconds are counted',
      },
    },
  }),
  depends: kind({
    number: 5,
    summary: 'distance from a value that depends on others, computed by a table or formula',
    measure: 'watched',
    sides: 'both',
    parameter: 'watched',
    settings: {
      on: { type: 'parameter', unit: 'watched', summary: 'derived parameter that levels are counted from' },
    },
  }),
  order: kind({
    number: 12,
    summary: 'vibration at n turns of a rotor: amplitude (peak), followed by its tach',
    measure: { by: 'as', units: { watched: 'watched', velocity: 'in/s' } },
    sides: 'above',
    parameter: 'watched',
    settings: {
      ...rotor,
      order: { type: 'quantity', unit: '1', least: 0.1, most: 100, summary: 'periods in a turn of the rotor' },
      ratio: {
        type: 'quantity',
        unit: '1',
        default: 1,
        least: 0.001,
        summary: 'turns of this rotor in one of the tach',
      },
      revolutions: { type: 'whole', default: 4, least: 1, most: 64, summary: 'turns of the rotor averaged' },
      as: {
        type: 'choice',
        of: ['watched', 'velocity'],
        default: 'watched',
        summary: 'in the unit of the parameter, or an acceleration as a velocity in in/s',
      },
    },
  }),
} as const satisfies Record<string, LimitKind>;

export type KindName = keyof typeof limitKinds;

/** What a setting is once it is loaded. */
export type ValueOf<S extends Setting> = S['type'] extends 'duration' | 'quantity' | 'whole'
  ? number
  : S['type'] extends 'yes'
    ? boolean
    : S['type'] extends 'parameters'
      ? readonly string[]
      : S['type'] extends 'quantities'
        ? readonly number[]
        : S['type'] extends 'points'
          ? readonly (readonly [number, number])[]
          : S['type'] extends 'steps'
            ? readonly { name: string; when: string; within: number }[]
            : string;

/** The settings of one kind once loaded: those with a default always have a value. */
export type SettingsOf<K extends KindName> = {
  readonly [N in keyof (typeof limitKinds)[K]['settings']]: (typeof limitKinds)[K]['settings'][N] extends infer S extends
    Setting
    ? S extends { optional: true }
      ? ValueOf<S> | undefined
      : ValueOf<S>
    : never;
};

/** Unit of what a limit measures, as the unit table spells it; '' for a state. `watched`: unit of its parameter. */
export function measureUnit(
  limit: { kind: KindName; settings?: Readonly<Record<string, unknown>> },
  watched: string,
): string {
  const { measure }: LimitKind = limitKinds[limit.kind];
  const unit = typeof measure === 'string' ? measure : (measure.units[String(limit.settings?.[measure.by])] ?? '1');
  return unit === 'state' ? '' : spelt(unit, watched);
}

/** A unit of this table in the spelling of the unit table. */
export function spelt(unit: string, watched: string): string {
  if (unit === 'watched') return watched;
  if (unit !== 'watched per second') return unit;
  const [top, bottom] = watched.split('/', 2) as [string, string?];
  return bottom === undefined ? `${top}/s` : `${top}/(${bottom.replace(/[()]/g, '')} s)`;
}
