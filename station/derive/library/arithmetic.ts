/** Functions of numbers, angles and words of bits. */
import { powerUnit } from '../../../protocol/units.ts';
import { fullTurn, wrap } from '../../compute/angle.ts';
import { arg, type FormulaFunction, plain, repeated, same } from '../function.ts';

/** A function of JavaScript's Math that takes as many arguments as it is given here. */
const math =
  (name: string) =>
  (...args: string[]): string =>
    `Math.${name}(${args.join(', ')})`;

const x = arg('x', 'x');
const number = arg('x', '1');
const angle = arg('angle', 'rad');

/** Bit of a whole number from 0 to 2^53 - 1; NaN for anything else, which is no word. */
function bit(word: number, place: number): number {
  return Number.isSafeInteger(word) && word >= 0 ? Math.floor(word / 2 ** place) % 2 : Number.NaN;
}

const clamp = (value: number, low: number, high: number): number =>
  low <= high ? Math.min(Math.max(value, low), high) : Number.NaN;

const hypot = (a: number, b: number): number => Math.sqrt(a * a + b * b);

export const arithmetic: readonly FormulaFunction[] = [
  plain('abs', [arg('x', 'dx')], same, Math.abs, { summary: 'size without sign' }, math('abs')),
  plain('sign', [arg('x', 'dx')], '1', Math.sign, { summary: '-1, 0 or 1' }, math('sign')),
  repeated(plain('min', [x, x], same, Math.min, { summary: 'the lowest' }, math('min'))),
  repeated(plain('max', [x, x], same, Math.max, { summary: 'the highest' }, math('max'))),
  plain('clamp', [x, arg('low', 'x'), arg('high', 'x')], same, clamp, {
    summary: 'x, but not below low nor above high',
    detail: 'no value where low is above high',
  }),
  plain('floor', [x], same, Math.floor, { summary: 'whole number at or below, in the unit of x' }, math('floor')),
  plain('round', [x], same, Math.round, { summary: 'nearest whole number, in the unit of x' }, math('round')),
  plain('sqrt', [arg('x', 'si')], (u) => powerUnit(u, 0.5), Math.sqrt, { summary: 'square root' }, math('sqrt')),
  plain('exp', [number], '1', Math.exp, { summary: 'e to the power of x' }, math('exp')),
  plain('log', [number], '1', Math.log, { summary: 'natural logarithm', detail: 'x above 0' }, math('log')),
  plain('log10', [number], '1', Math.log10, { summary: 'logarithm to base 10', detail: 'x above 0' }, math('log10')),
  plain(
    'hypot',
    [arg('x', 'dx'), arg('y', 'dx')],
    same,
    hypot,
    { summary: 'root of the sum of both squares' },
    (a, b) => `Math.sqrt(${a} * ${a} + ${b} * ${b})`,
  ),
  plain('sin', [angle], '1', Math.sin, { summary: 'sine' }, math('sin')),
  plain('cos', [angle], '1', Math.cos, { summary: 'cosine' }, math('cos')),
  plain('tan', [angle], '1', Math.tan, { summary: 'tangent' }, math('tan')),
  plain('asin', [number], 'rad', Math.asin, { summary: 'angle of a sine' }, math('asin')),
  plain('acos', [number], 'rad', Math.acos, { summary: 'angle of a cosine' }, math('acos')),
  plain('atan', [number], 'rad', Math.atan, { summary: 'angle of a tangent' }, math('atan')),
  plain(
    'atan2',
    [arg('y', 'dx'), arg('x', 'dx')],
    'rad',
    Math.atan2,
    { summary: 'angle of a point (x, y)' },
    math('atan2'),
  ),
  plain('wrap', [arg('angle', 'deg')], 'deg', wrap, { summary: 'the same direction from -180 to below 180 deg' }),
  plain('full_turn', [arg('angle', 'deg')], 'deg', fullTurn, { summary: 'the same direction from 0 to below 360 deg' }),
  plain('angle_difference', [arg('angle', 'deg'), arg('from', 'deg')], 'deg', (to, from) => wrap(to - from), {
    summary: 'shortest turn from one direction to another, -180 to below 180 deg',
  }),
  plain('bit', [arg('word', '1'), { name: 'number', unit: '1', setting: { from: 0, to: 31, whole: true } }], '1', bit, {
    summary: 'one bit of a word, 0 being the lowest',
    detail: 'no value unless the word is a whole number from 0 on',
  }),
];
