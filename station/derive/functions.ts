/**
 * The one list of functions a formula may call. A new function is one line here and the function itself, in
 * station/compute/ when it is arithmetic, in memory.ts when it remembers earlier samples.
 */
import { divideUnits, parseUnit, powerUnit, type Unit } from '../../protocol/units.ts';
import {
  airDensity,
  calibratedAirspeed,
  densityAltitude,
  equivalentAirspeed,
  machNumber,
  pressureAltitude,
  trueAirspeed,
  trueFromEquivalent,
} from '../compute/air-data.ts';
import { ExtremeWindow, MAX_WINDOW, MeanWindow, SlopeWindow } from '../compute/filter.ts';
import { type Drive, Filtered, Held, type Memory, Movement, Previous, Windowed } from './memory.ts';

/**
 * Unit of an argument: a spelling of protocol/units.ts, into which the argument is converted; `x`: any, but all `x` of
 * one call are converted to the first one's; `dx`: as `x`, degC and degF becoming K; `si`: the coherent unit.
 */
export interface Argument {
  name: string;
  unit: string;
  /** a constant, within these bounds in that unit; `otherwise` when it is left out */
  setting?: { from: number; to: number; whole?: boolean; otherwise?: number };
}

export interface FormulaFunction {
  name: string;
  args: readonly Argument[];
  /** the last argument may be repeated */
  repeats: boolean;
  /** unit of the result: a spelling, or made from the unit of the `x`, `dx` or `si` arguments */
  result: string | ((x: Unit) => Unit);
  summary: string;
  source: string;
  work:
    | { kind: 'plain'; of: (...args: number[]) => number; code?: (...args: string[]) => string }
    /** of those arguments that are usable, in a scratch column; it may reorder them */
    | { kind: 'vote'; of: (usable: Float64Array, count: number) => number }
    | {
        kind: 'memory';
        create: (settings: readonly number[], drive: Drive) => Memory;
        /** what the driving group must allow: which argument is wrong, and what is expected */
        refuse?: (settings: readonly number[], drive: Drive) => { arg: number; expected: string } | undefined;
        /** the arguments must be sampled by the driving group itself: held copies would not move between samples */
        ownGroup?: boolean;
        /** the result is one of the argument's samples, states and all */
        keepsStates?: boolean;
      };
}

const second = parseUnit('s') as Unit;
const same = (x: Unit): Unit => x;
const perSecond = (x: Unit): Unit => divideUnits(x, second);
const arg = (name: string, unit: string): Argument => ({ name, unit });
const window: Argument = { name: 'window', unit: 's', setting: { from: 0.001, to: 3600 } };

const definition = 'definition';
const icao = 'ICAO Doc 7488/3, standard atmosphere';
const pitot = 'NASA RP-1046, subsonic pitot equation';

type Result = FormulaFunction['result'];
type Plain = Extract<FormulaFunction['work'], { kind: 'plain' }>;
type Remembering = Extract<FormulaFunction['work'], { kind: 'memory' }>;

function plain(
  name: string,
  args: readonly Argument[],
  result: Result,
  of: Plain['of'],
  code: Plain['code'] | undefined,
  summary: string,
  source: string = definition,
): FormulaFunction {
  return { name, args, repeats: false, result, summary, source, work: { kind: 'plain', of, ...(code && { code }) } };
}

function memory(
  name: string,
  args: readonly Argument[],
  result: Result,
  work: Omit<Remembering, 'kind'>,
  summary: string,
  source: string = definition,
): FormulaFunction {
  return { name, args, repeats: false, result, summary, source, work: { kind: 'memory', ...work } };
}

const repeated = (one: FormulaFunction): FormulaFunction => ({ ...one, repeats: true });

/** A function of JavaScript's Math that takes as many arguments as it is given here. */
const math =
  (name: string) =>
  (...args: string[]): string =>
    `Math.${name}(${args.join(', ')})`;

const x = arg('x', 'x');
const angle = arg('angle', 'rad');
const pressure = arg('static pressure', 'Pa');
const temperature = arg('static temperature', 'K');
const airspeed = arg('calibrated airspeed', 'm/s');

const list: readonly FormulaFunction[] = [
  plain('abs', [arg('x', 'dx')], same, Math.abs, math('abs'), 'size without sign'),
  repeated(plain('min', [x, x], same, Math.min, math('min'), 'the lowest')),
  repeated(plain('max', [x, x], same, Math.max, math('max'), 'the highest')),
  plain('sqrt', [arg('x', 'si')], (u) => powerUnit(u, 0.5), Math.sqrt, math('sqrt'), 'square root'),
  plain('sin', [angle], '1', Math.sin, math('sin'), 'sine'),
  plain('cos', [angle], '1', Math.cos, math('cos'), 'cosine'),
  plain('tan', [angle], '1', Math.tan, math('tan'), 'tangent'),
  plain('asin', [arg('x', '1')], 'rad', Math.asin, math('asin'), 'angle of a sine'),
  plain('acos', [arg('x', '1')], 'rad', Math.acos, math('acos'), 'angle of a cosine'),
  plain('atan2', [arg('y', 'dx'), arg('x', 'dx')], 'rad', Math.atan2, math('atan2'), 'angle of a point (x, y)'),
  plain('wrap', [arg('angle', 'deg')], 'deg', wrap, undefined, 'the same direction from -180 to below 180 deg'),
  plain(
    'bit',
    [arg('word', '1'), { name: 'number', unit: '1', setting: { from: 0, to: 31, whole: true } }],
    '1',
    bit,
    undefined,
    'one bit of a word, 0 being the lowest',
  ),
  {
    name: 'median',
    args: [x],
    repeats: true,
    result: same,
    summary: 'middle one of those that are usable; the mean of the two in the middle when their number is even',
    source: 'mid-value selection, common practice',
    work: { kind: 'vote', of: median },
  },
  plain(
    'pressure_altitude',
    [pressure],
    'm',
    pressureAltitude,
    undefined,
    'altitude of that pressure in the standard atmosphere',
    icao,
  ),
  plain('density', [pressure, temperature], 'kg/m^3', airDensity, undefined, 'density of dry air', 'ideal gas'),
  plain(
    'density_altitude',
    [pressure, temperature],
    'm',
    densityAltitude,
    undefined,
    'altitude of that density in the standard atmosphere',
    icao,
  ),
  plain('calibrated_airspeed', [arg('impact pressure', 'Pa')], 'm/s', calibratedAirspeed, undefined, 'CAS', pitot),
  plain('equivalent_airspeed', [airspeed, pressure], 'm/s', equivalentAirspeed, undefined, 'EAS from CAS', pitot),
  plain('true_airspeed', [airspeed, pressure, temperature], 'm/s', trueAirspeed, undefined, 'TAS from CAS', pitot),
  plain(
    'true_from_equivalent',
    [arg('equivalent airspeed', 'm/s'), arg('density', 'kg/m^3')],
    'm/s',
    trueFromEquivalent,
    undefined,
    'TAS from EAS',
    'EAS / sqrt(sigma)',
  ),
  plain('mach', [airspeed, pressure], '1', machNumber, undefined, 'Mach number from CAS', pitot),
  memory(
    'lowpass',
    [
      x,
      { name: 'cutoff', unit: 'Hz', setting: { from: 0.0001, to: 1e6 } },
      { name: 'order', unit: '1', setting: { from: 1, to: 4, whole: true, otherwise: 2 } },
    ],
    same,
    {
      create: ([cutoff, order], drive) => new Filtered(cutoff as number, order as number, drive),
      refuse: refuseCutoff,
    },
    'Butterworth low-pass, -3 dB at the cut-off',
    'bilinear transformation',
  ),
  memory(
    'rate',
    [arg('x', 'dx'), window],
    perSecond,
    windowed((width) => new SlopeWindow(width), 3),
    'slope of the least-squares line over the window',
  ),
  memory(
    'moving_mean',
    [x, window],
    same,
    windowed((width) => new MeanWindow(width), 1),
    'mean over the window',
  ),
  memory(
    'moving_min',
    [x, window],
    same,
    windowed((width) => new ExtremeWindow(width, 'lowest'), 1),
    'lowest in the window',
  ),
  memory(
    'moving_max',
    [x, window],
    same,
    windowed((width) => new ExtremeWindow(width, 'highest'), 1),
    'highest in the window',
  ),
  memory('previous', [x], same, { create: (_, drive) => new Previous(drive), keepsStates: true }, 'the sample before'),
  memory(
    'hold',
    [x, { name: 'age', unit: 's', setting: { from: 0, to: 3600 } }],
    same,
    { create: ([age]) => new Held(microseconds(age as number)), keepsStates: true },
    'the last usable sample, while it is no older than that',
  ),
  memory(
    'ground_speed',
    [arg('latitude', 'deg'), arg('longitude', 'deg')],
    'm/s',
    movement('speed'),
    'speed from one position to the next',
    'WGS 84 geodesic, Karney 2013',
  ),
  memory(
    'track',
    [arg('latitude', 'deg'), arg('longitude', 'deg')],
    'deg',
    movement('track'),
    'true track from one position to the next, 0 to 360 deg',
    'WGS 84 geodesic, Karney 2013',
  ),
];

export const functions: ReadonlyMap<string, FormulaFunction> = new Map(list.map((one) => [one.name, one]));

/** How a function is called: `lowpass(x, cutoff [Hz], order = 2)`. */
export function signature(one: FormulaFunction): string {
  const args = one.args.map(({ name, unit, setting }) => {
    const spelled = ['x', 'dx', 'si', '1'].includes(unit) ? name : `${name} [${unit}]`;
    return setting?.otherwise === undefined ? spelled : `${spelled} = ${setting.otherwise}`;
  });
  return `${one.name}(${args.join(', ')}${one.repeats ? ', ...' : ''})`;
}

function microseconds(seconds: number): number {
  return Math.round(seconds * 1e6);
}

/** Degrees from -180 to below 180; a value that is there already stays as it is, bit for bit. */
export function wrap(degrees: number): number {
  return degrees >= -180 && degrees < 180 ? degrees : degrees - 360 * Math.floor((degrees + 180) / 360);
}

/** Bit of a whole number from 0 to 2^53 - 1; NaN for anything else, which is no word. */
export function bit(word: number, number: number): number {
  return Number.isSafeInteger(word) && word >= 0 ? Math.floor(word / 2 ** number) % 2 : Number.NaN;
}

/** Sorts the first `count` numbers in place and returns the middle one, or the mean of the two in the middle. */
export function median(numbers: Float64Array, count: number): number {
  for (let i = 1; i < count; i++) {
    const value = numbers[i] as number;
    let j = i - 1;
    for (; j >= 0 && (numbers[j] as number) > value; j--) numbers[j + 1] = numbers[j] as number;
    numbers[j + 1] = value;
  }
  const middle = count >> 1;
  const upper = numbers[middle] as number;
  return count % 2 === 1 ? upper : ((numbers[middle - 1] as number) + upper) / 2;
}

/** A moving window of which the driving group fills at least `least` samples. */
function windowed(
  make: (width: number) => ConstructorParameters<typeof Windowed>[0],
  least: number,
): Omit<Remembering, 'kind'> {
  return {
    create: ([width]) => new Windowed(make(microseconds(width as number))),
    refuse: ([width], { rate }) => {
      const samples = (width as number) * rate;
      if (rate > 0 && samples + 1 < least)
        return { arg: 1, expected: `at least ${(least - 1) / rate} s: ${least} samples` };
      if (samples > MAX_WINDOW) return { arg: 1, expected: `at most ${MAX_WINDOW / rate} s: ${MAX_WINDOW} samples` };
      return undefined;
    },
  };
}

function refuseCutoff([cutoff]: readonly number[], { rate }: Drive): { arg: number; expected: string } | undefined {
  if (rate === 0) return { arg: 0, expected: 'a rate group with a fixed rate' };
  return (cutoff as number) < rate / 2 ? undefined : { arg: 1, expected: `less than ${rate / 2} Hz, half the rate` };
}

function movement(what: 'speed' | 'track'): Omit<Remembering, 'kind'> {
  return { create: (_, drive) => new Movement(what, drive), ownGroup: true };
}
