/** The functions of the library the slow, obvious way, and random calls of them. */
import fc from 'fast-check';
import type { Table } from '../../protocol/table.ts';
import { alike, type Answer, type Dimension, type Expression, from, usable } from './slow-answer.ts';
import { actuator, count, delay, edge, holdWhile, integral, latch, moment, rateLimit, timer } from './slow-memory.ts';

export const tables: Table[] = [
  {
    id: 'LINE',
    name: 'LINE',
    unit: '1',
    axes: [{ name: 'x', unit: '1', at: [-3, -1, 0, 0.5, 2, 11] }],
    values: [4, -2, 0.1, 0.1, 7, -1],
    outside: 'no value',
  },
  {
    id: 'SHEET',
    name: 'SHEET',
    unit: '1',
    axes: [
      { name: 'x', unit: '1', at: [-2, 1, 3] },
      { name: 'y', unit: '1', at: [-1, 0, 1, 6] },
    ],
    values: [1, 2, 3, 4, -1, 0, 0.3, 9, 5, 5, 5, -6],
    outside: 'edge',
  },
];

/** A call by name, its answer made from the answers of its arguments at the same sample. */
function call(
  name: string,
  args: Expression[],
  unit: string,
  answer: (all: Answer[]) => Answer,
  more = '',
): Expression {
  return {
    text: `${name}(${args.map(({ text }) => text).join(', ')}${more})`,
    unit,
    at: (n, world) => answer(args.map((arg) => arg.at(n, world))),
  };
}

const plain = (name: string, args: Expression[], unit: string, of: (...x: number[]) => number): Expression =>
  call(name, args, unit, (all) => from(all, () => of(...all.map(({ value }) => value))));

/** Brings a number that is too large for exact sums to one that is not. */
const tame = (a: Expression): Expression => {
  const unit = a.unit === '1' ? '' : `[${a.unit}]`;
  return {
    text: `(if abs(${a.text}) > 0.5${unit} and abs(${a.text}) < 11${unit} then floor(${a.text} * 4) / 4 else 0.25${unit})`,
    unit: a.unit,
    at(n, world) {
      const x = a.at(n, world);
      const ordinary = Math.abs(x.value) > 0.5 && Math.abs(x.value) < 11;
      return from([x], () => (ordinary ? Math.floor(x.value * 4) / 4 : 0.25));
    },
  };
};

// ---------------------------------------------------------------- votes

function voteOf(name: string, args: Expression[], least: number, of: (good: number[]) => number): Expression {
  return call(name, alike(args), (args[0] as Expression).unit, (all) => {
    const good = all.filter(usable);
    return good.length < least ? from(all, () => 0) : from(good, () => of(good.map(({ value }) => value)));
  });
}

const middle = (numbers: number[]): number => {
  const sorted = [...numbers].sort((a, b) => a - b);
  const [low, high] = [sorted[(sorted.length - 1) >> 1], sorted[sorted.length >> 1]] as [number, number];
  return sorted.length % 2 === 1 ? low : (low + high) / 2;
};

function miscompare(args: Expression[]): Expression {
  const all = alike(args);
  const vote = voteOf('miscompare', args, 2, (good) => (good[0] as number) - middle(good));
  return {
    ...vote,
    at(n, world) {
      const channel = (all[0] as Expression).at(n, world);
      return usable(channel) ? vote.at(n, world) : channel;
    },
  };
}

const turn = (degrees: number, from_: number): number => {
  if (degrees >= from_ && degrees < from_ + 360) return degrees;
  const turned = degrees - 360 * Math.floor((degrees - from_) / 360);
  return turned < from_ + 360 ? turned : from_;
};

/** Directions: the arguments are numbers of degrees, and so is the result. */
function miscompareAngle(args: Expression[]): Expression {
  const vote = miscompare(args);
  return {
    text: `(miscompare_angle(${args.map(({ text }) => `${text} * 1[deg]`).join(', ')}) / 1[deg])`,
    unit: '1',
    at(n, world) {
      const [channel, ...others] = args.map((arg) => arg.at(n, world)) as [Answer, ...Answer[]];
      if (!usable(channel)) return channel;
      const good = [channel, ...others.filter(usable)];
      if (good.length < 2) return vote.at(n, world);
      return from(good, () => -middle(good.map(({ value }) => turn(value - channel.value, -180))));
    },
  };
}

const counted = (args: Expression[]): Expression =>
  call('count_usable', args, '1', (all) => {
    const good = all.filter(usable);
    return { value: good.length, code: Math.max(0, ...good.map(({ code }) => code)) };
  });

// ---------------------------------------------------------------- tables

const line = (xs: number[], ys: number[], x: number): number => {
  if (!(x >= (xs[0] as number) && x <= (xs.at(-1) as number))) return Number.NaN;
  for (let i = xs.length - 2; ; i--) {
    const [a, b, low, high] = [xs[i], xs[i + 1], ys[i], ys[i + 1]] as [number, number, number, number];
    if (x === b) return high;
    if (x >= a) return low + (high - low) * ((x - a) / (b - a));
  }
};

const within = (xs: number[], x: number): number => Math.min(Math.max(x, xs[0] as number), xs.at(-1) as number);

function sheet(x: number, y: number): number {
  const { axes, values } = tables[1] as Table;
  const [{ at: xs }, { at: ys }] = axes as [{ at: number[] }, { at: number[] }];
  const rows = xs.map((_, i) => line(ys, values.slice(i * ys.length, (i + 1) * ys.length), within(ys, y)));
  return line(xs, rows, within(xs, x));
}

// ---------------------------------------------------------------- all of them

type Random = fc.Arbitrary<Expression>;

/** Random calls that give a number, or a quantity of the dimension of `same`. */
export function libraryOf(dimension: Dimension, same: Random, num: Random): Random[] {
  const pair = fc.tuple(same, same);
  const some = fc.array(same, { minLength: 2, maxLength: 4 });
  const width = fc.constantFrom(0.02, 0.1);
  const any: Random[] = [
    fc.tuple(same, same, same).map((args) => plain('clamp', alike(args), (args[0] as Expression).unit, clamp)),
    some.map((args) => voteOf('mean', args, 1, (good) => good.reduce((sum, x) => sum + x, 0) / good.length)),
    some.map((args) => voteOf('spread', args, 2, (good) => Math.max(...good) - Math.min(...good))),
    some.map(miscompare),
    fc.tuple(same, num, fc.constantFrom(0.005, 0.02, 1)).map(([a, reset, gap]) => integral(a, reset, gap)),
    fc.tuple(same, fc.constantFrom(0.5, 20, 400)).map(([a, limit]) => rateLimit(a, limit)),
    fc.tuple(same, fc.constantFrom(0, 0.004, 0.03, 0.2)).map(([a, by]) => delay(a, by)),
    fc.tuple(same, num).map(([a, condition]) => holdWhile(a, condition)),
    fc.tuple(same, width).map(([a, w]) => moment('moving_rms', tame(a), w)),
    fc.tuple(same, width).map(([a, w]) => moment('moving_mean', tame(a), w)),
    same.map((a) => actuator(false, [a], 3, 0.7, 50)),
    pair.map((args) => actuator(true, args, 8, 0.5, 20)),
  ];
  if (dimension === 'speed') return any;
  const one = (name: string, of: (x: number) => number): Random => num.map((a) => plain(name, [a], '1', of));
  const two = (name: string, of: (x: number, y: number) => number): Random =>
    fc.tuple(num, num).map((args) => plain(name, args, '1', of));
  const angle = (text: (...args: string[]) => string, of: (...x: number[]) => number, args: Random[]): Random =>
    fc.tuple(...args).map((all) => ({
      ...plain('', all, '1', of),
      text: `(${text(...all.map((a) => `${a.text} * 1[deg]`))} / 1[deg])`,
    }));
  return [
    ...any,
    one('sign', Math.sign),
    one('floor', Math.floor),
    one('round', Math.round),
    one('exp', Math.exp),
    one('log', Math.log),
    one('log10', Math.log10),
    two('hypot', (x, y) => Math.sqrt(x * x + y * y)),
    angle(
      (a) => `wrap(${a})`,
      (x) => turn(x as number, -180),
      [num],
    ),
    angle(
      (a) => `full_turn(${a})`,
      (x) => turn(x as number, 0),
      [num],
    ),
    angle(
      (a, b) => `angle_difference(${a}, ${b})`,
      (x, y) => turn((x as number) - (y as number), -180),
      [num, num],
    ),
    fc.array(num, { minLength: 1, maxLength: 4 }).map(counted),
    fc.array(num, { minLength: 2, maxLength: 4 }).map(miscompareAngle),
    num.map((a) => ({
      ...plain('', [a], '1', (x) => line((tables[0] as Table).axes[0].at, (tables[0] as Table).values, x as number)),
      text: `table(LINE, ${a.text})`,
    })),
    fc.tuple(num, num).map(([a, b]) => ({
      ...plain('', [a, b], '1', (x, y) => sheet(x as number, y as number)),
      text: `table(SHEET, ${a.text}, ${b.text})`,
    })),
    num.map(edge),
    num.map(timer),
    fc.tuple(num, num).map(([a, b]) => count(a, b)),
    fc.tuple(num, num).map(([a, b]) => latch(a, b)),
  ];
}

function clamp(x?: number, low?: number, high?: number): number {
  const [a, b] = [low as number, high as number];
  return a <= b ? Math.min(Math.max(x as number, a), b) : Number.NaN;
}
