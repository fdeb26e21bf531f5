/** Functions that remember earlier samples; what they say at the start and over a gap is in `detail`. */
import { ActuatorModel } from '../../compute/actuator.ts';
import {
  ExtremeWindow,
  MAX_WINDOW,
  MeanWindow,
  type MovingWindow,
  RmsWindow,
  SlopeWindow,
} from '../../compute/window.ts';
import { arg, type Argument, definition, type FormulaFunction, made, perSecond, same } from '../function.ts';
import type { Drive } from '../memory.ts';
import { Count, Edge, HoldWhile, Latch, Timer } from '../memory-event.ts';
import { Actuator, Delay, Integral, Movement, RateLimit } from '../memory-motion.ts';
import { Filtered, Held, Previous, Windowed } from '../memory-past.ts';
import { multiplyUnits, parseUnit, type Unit } from '../../../protocol/units.ts';

type Remembering = Extract<FormulaFunction['work'], { kind: 'memory' }>;

const x = arg('x', 'x');
const dx = arg('x', 'dx');
const condition = arg('condition', '1');
const reset = arg('reset', '1');
const window: Argument = { name: 'window', unit: 's', setting: { from: 0.001, to: 3600 } };
const model: Argument[] = [
  { name: 'frequency', unit: 'Hz', setting: { from: 0.001, to: 1000 } },
  { name: 'damping', unit: '1', setting: { from: 0.01, to: 10 } },
  { name: 'most a second', unit: 'x/s', setting: { from: 1e-12, to: 1e12 } },
];
const withSeconds = (unit: Unit): Unit => multiplyUnits(unit, parseUnit('s') as Unit);

/** Over a gap, windows and events go by what is left of their samples. */
const fills = 'from the first usable sample on, over what is there; a step back in time empties the window';
const servo = 'second order, speed limited: y" = w^2 (u - y) - 2 z w y\'';
const begins =
  'starts at the first usable sample, and again after a gap longer than stale after or a step back in time';

export const remembering: readonly FormulaFunction[] = [
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
    'settled on the first usable sample, and again after a gap longer than 1 / (2 pi cut-off) or a step back in time',
    'bilinear transformation',
  ),
  memory(
    'rate',
    [dx, window],
    perSecond,
    windowed((width) => new SlopeWindow(width), 3),
    'slope of the least-squares line over the window',
    'no value until three samples span half the window; a step back in time empties it',
  ),
  memory(
    'moving_mean',
    [x, window],
    same,
    windowed((width) => new MeanWindow(width), 1),
    'mean over the window',
    fills,
  ),
  memory(
    'moving_rms',
    [dx, window],
    same,
    windowed((width) => new RmsWindow(width), 1),
    'root of the mean square over the window',
    fills,
  ),
  memory(
    'moving_min',
    [x, window],
    same,
    windowed((width) => new ExtremeWindow(width, 'lowest'), 1),
    'lowest in the window',
    fills,
  ),
  memory(
    'moving_max',
    [x, window],
    same,
    windowed((width) => new ExtremeWindow(width, 'highest'), 1),
    'highest in the window',
    fills,
  ),
  memory(
    'integral',
    [dx, reset, { name: 'gap', unit: 's', setting: { from: 0, to: 3600, otherwise: 1 } }],
    withSeconds,
    { create: ([gap]) => new Integral(microseconds(gap as number)) },
    'integral over time, 0 while reset is true',
    '0 at the first usable sample; after a longer gap or a step back in time not usable until reset',
    'trapezoids',
  ),
  memory(
    'rate_limit',
    [dx, { name: 'most a second', unit: 'x/s', setting: { from: 1e-12, to: 1e12 } }],
    same,
    { create: ([limit], drive) => new RateLimit(limit as number, drive) },
    'follows x no faster than that',
    `at x where it ${begins}`,
  ),
  memory(
    'previous',
    [x],
    same,
    { create: (_, drive) => new Previous(drive), keepsStates: true },
    'the sample before',
    'not usable at the first sample, nor after a gap longer than stale after',
  ),
  memory(
    'delay',
    [x, { name: 'time', unit: 's', setting: { from: 0, to: 3600 } }],
    same,
    {
      create: ([time], drive) => new Delay(microseconds(time as number), drive),
      refuse: ([time], { rate }) =>
        (time as number) * rate > MAX_WINDOW ? { arg: 1, expected: `at most ${MAX_WINDOW / rate} s` } : undefined,
      keepsStates: true,
    },
    'the newest sample that is at least so old',
    'not usable until there is one, nor where it is older than that by more than stale after',
  ),
  memory(
    'hold',
    [x, { name: 'age', unit: 's', setting: { from: 0, to: 3600 } }],
    same,
    { create: ([age]) => new Held(microseconds(age as number)), keepsStates: true },
    'the last usable sample, while it is no older than that',
    'not usable before the first usable sample',
  ),
  memory(
    'hold_while',
    [x, condition],
    same,
    { create: () => new HoldWhile(), keepsStates: true },
    'x; while the condition is true, the last usable x from before',
    'not usable where there was none; held however long, also over a gap in x',
  ),
  memory(
    'edge',
    [condition],
    '1',
    { create: () => new Edge() },
    '1 where the condition has become true, else 0',
    '0 at the first usable sample; compared with the last usable one, however old',
  ),
  memory(
    'count',
    [condition, reset],
    '1',
    { create: () => new Count() },
    'how many times the condition has become true, 0 while reset is true',
    '0 at the first usable sample; over a gap as edge',
  ),
  memory(
    'timer',
    [condition],
    's',
    { create: () => new Timer() },
    'how long the condition has been true, 0 while it is not',
    '0 at the first sample where it is true; a gap counts; a step back in time starts it again',
  ),
  memory(
    'latch',
    [arg('set', '1'), reset],
    '1',
    { create: () => new Latch() },
    '1 from where set is true until reset is true; reset wins',
    '0 at the start; nothing changes where set or reset is not usable',
  ),
  memory(
    'actuator',
    [arg('command', 'dx'), ...model],
    same,
    { create: (settings, drive) => new Actuator(servoModel(settings), false, drive) },
    'position of the nominal actuator that is given this command',
    `at rest at the command where it ${begins}`,
    servo,
  ),
  memory(
    'actuator_error',
    [arg('position', 'dx'), arg('command', 'dx'), ...model],
    same,
    { create: (settings, drive) => new Actuator(servoModel(settings), true, drive) },
    'position less that of the nominal actuator',
    `the model is at rest at the position where it ${begins}`,
    servo,
  ),
  memory(
    'ground_speed',
    [arg('latitude', 'deg'), arg('longitude', 'deg')],
    'm/s',
    movement('speed'),
    'speed from one position to the next',
    'no value at the first usable position, nor after a gap longer than stale after',
    'WGS 84 geodesic, Karney 2013',
  ),
  memory(
    'track',
    [arg('latitude', 'deg'), arg('longitude', 'deg')],
    'deg',
    movement('track'),
    'true track from one position to the next, 0 to 360 deg',
    'as ground_speed; no value where the positions are less than 0.1 m apart',
    'WGS 84 geodesic, Karney 2013',
  ),
];

function memory(
  name: string,
  args: readonly Argument[],
  result: FormulaFunction['result'],
  work: Omit<Remembering, 'kind'>,
  summary: string,
  detail: string,
  source: string = definition,
): FormulaFunction {
  return made(name, args, result, { kind: 'memory', ...work }, { summary, detail, source });
}

function microseconds(seconds: number): number {
  return Math.round(seconds * 1e6);
}

function servoModel([frequency, damping, limit]: readonly number[]): ActuatorModel {
  return new ActuatorModel(frequency as number, damping as number, limit as number);
}

/** A moving window of which the driving group fills at least `least` samples. */
function windowed(make: (width: number) => MovingWindow, least: number): Omit<Remembering, 'kind'> {
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
