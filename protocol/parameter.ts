/**
 * A parameter as the mission declares it: one named quantity with unit, rate group, calibration and validity rules.
 * Column numbers count all parameters of a mission, received ones first (in file order), derived ones after.
 */
import type { Microseconds } from './time.ts';

export type CountFormat = 'u8' | 'i8' | 'u16' | 'i16' | 'u32' | 'i32' | 'f32' | 'f64';

export const formatBytes: Record<CountFormat, number> = {
  u8: 1,
  i8: 1,
  u16: 2,
  i16: 2,
  u32: 4,
  i32: 4,
  f32: 4,
  f64: 8,
};

/** Parameters sampled at the same instants. */
export interface RateGroup {
  id: string;
  /** samples a second; 0 = no fixed rate, every sample carries its own time */
  rate: number;
  /** ground time without a sample after which its parameters are stale: default max(3 periods, 0.5 s) */
  staleAfter: Microseconds;
}

/** Rule from counts to engineering units. */
export type Calibration =
  /** value = c0 + c1 x + c2 x^2 + ... (x = counts), degree at most 5; `from`/`to` bound the calibrated counts */
  | { kind: 'polynomial'; coefficients: number[]; from?: number; to?: number }
  /**
   * points, counts strictly increasing, with straight lines between them or, on request, a smooth curve that never leaves
   * the values of its two points; outside the end points the end lines go on, marked
   */
  | { kind: 'table'; counts: number[]; values: number[]; curve?: 'monotone cubic' }
  /** a discrete: the counts are the value, each with a name; an unlisted count is outside the physical range */
  | { kind: 'states'; states: Record<string, string> }
  /** the bits are the value */
  | ({ kind: 'bits'; word: string; states?: Record<string, string> } & BitField);

/** How the bits of a field are read as a number. */
export const codings = ['unsigned', "two's complement", 'offset binary'] as const;
export type Coding = (typeof codings)[number];

/** Bits `shift` .. `shift + width - 1` of a word, itself the counts of an unsigned format; bit 0 is the lowest. */
export interface BitField {
  shift: number;
  width: number;
  /** which of these bits count, when not all do; bit 0 of the mask is bit `shift` of the word */
  mask?: number;
  /** absent = unsigned */
  coding?: Coding;
}

export interface Parameter {
  /** short name, unique: letters, digits, underscore, beginning with a letter ("NR", "TOT", "ROLL_A") */
  id: string;
  /** the measurand in words */
  name: string;
  /** what a person should know of it, in a sentence or two */
  description?: string;
  /** unit of the value, as protocol/units.ts spells it; "1" for a pure number or a discrete */
  unit: string;
  /** id of its rate group */
  group: string;
  /** format on the wire; absent for bits out of a word, which travel in the word */
  format?: CountFormat;
  /**
   * where in a word its counts are, when they are not a whole number of bytes: the word of another parameter, or the one
   * that travels as its own. What the calibration works on, and what may freeze, is the number read from these bits.
   */
  bits?: BitField & { word?: string };
  calibration: Calibration;
  /** where the calibration comes from, and when it was made */
  calibrationSource?: string;
  calibrationDate?: string;
  /** values outside are not physical */
  physicalRange?: [number, number];
  /** identical counts this many times in a row, where noise is normal: frozen */
  frozenAfter?: number;
  /** a sample that is usable so far must pass these as well, or it is implausible */
  plausible?: {
    /** id of a parameter or derived parameter: its newest usable sample of no later time must not be zero */
    while?: string;
    /** largest change from the usable sample before, in the parameter's unit a second */
    fastest?: number;
  };
  /** decimals a person wants to see */
  decimals?: number;
  /** where its calibration stands, or it where there is none: for findings */
  place?: { file: string; line: number; column: number };
}

/** A parameter computed from others. Its rate group is the one of the parameter or group that drives it. */
export interface Derived {
  id: string;
  name: string;
  description?: string;
  unit: string;
  /** id of a parameter or a rate group: one value is computed for each of its samples */
  drivenBy: string;
  formula: string;
  decimals?: number;
  /** names for the values of a formula that yields a discrete */
  states?: Record<string, string>;
  /**
   * made by the loader of a condition that stands in another file: its formula yields 1 or 0, its id is none a formula can
   * name, and lists of parameters leave it out
   */
  condition?: true;
  /** where the formula stands: file, line and column of its first character, for findings */
  place?: { file: string; line: number; column: number };
}
