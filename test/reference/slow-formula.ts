/**
 * Formulas the slow, obvious way: made at random with their text, their unit and a function that answers for any sample
 * from scratch, out of all samples ever seen. Shares only the unit table with what it is compared to.
 */
import fc from 'fast-check';
import { type Answer, type Dimension, type Expression, from, into, usable, type World } from './slow-answer.ts';
import { libraryOf } from './slow-library.ts';

export const groups = [
  { id: 'fast', rate: 500, staleAfter: 100_000 },
  { id: 'main', rate: 100, staleAfter: 80_000 },
  { id: 'slow', rate: 10, staleAfter: 300_000 },
];
export const received = [
  { id: 'F', unit: '1', group: 'fast' },
  { id: 'A', unit: '1', group: 'main' },
  { id: 'B', unit: '1', group: 'main' },
  { id: 'U', unit: 'kt', group: 'main' },
  { id: 'V', unit: 'm/s', group: 'slow' },
  { id: 'S', unit: '1', group: 'slow' },
];

const number = (value: number, unit: string): Expression => {
  const bracket = unit === '1' ? '' : `[${unit}]`;
  return { text: value < 0 ? `(-${-value}${bracket})` : `${value}${bracket}`, unit, at: () => ({ value, code: 0 }) };
};

export function parameter(id: string, unit: string): Expression {
  return {
    text: id,
    unit,
    at(n, world) {
      const { samples, group, staleAfter } = world.samples.get(id) as NonNullable<ReturnType<World['samples']['get']>>;
      const time = world.times[n] as number;
      const sample = group === world.group ? samples[n] : samples.findLast((one) => one.time <= time);
      const young = sample !== undefined && (group === world.group || time - sample.time <= staleAfter);
      return young && sample.code < 8 ? { value: sample.value, code: sample.code } : { value: Number.NaN, code: 15 };
    },
  };
}

function two(
  sign: string,
  a: Expression,
  b: Expression,
  unit: string,
  apply: (x: number, y: number) => number,
  same: boolean,
): Expression {
  return {
    text: `(${a.text} ${sign} ${b.text})`,
    unit,
    at(n, world) {
      const x = a.at(n, world);
      const y = same ? into(b.at(n, world), b.unit, a.unit) : b.at(n, world);
      return from([x, y], () => apply(x.value, y.value));
    },
  };
}

function logic(sign: 'and' | 'or', a: Expression, b: Expression): Expression {
  return {
    text: `(${a.text} ${sign} ${b.text})`,
    unit: '1',
    at(n, world) {
      const [x, y] = [a.at(n, world), b.at(n, world)];
      const decides = (one: Answer) => usable(one) && (one.value !== 0) === (sign === 'or');
      if (usable(x) && usable(y))
        return from([x, y], () => Number(sign === 'and' ? x.value && y.value : x.value || y.value) && 1);
      if (decides(x)) return { value: sign === 'or' ? 1 : 0, code: x.code };
      if (decides(y)) return { value: sign === 'or' ? 1 : 0, code: y.code };
      return from([x, y], () => 0);
    },
  };
}

function choice(condition: Expression, yes: Expression, no: Expression): Expression {
  return {
    text: `(if ${condition.text} then ${yes.text} else ${no.text})`,
    unit: yes.unit,
    at(n, world) {
      const test = condition.at(n, world);
      if (!usable(test)) return test;
      const taken = test.value !== 0 ? yes.at(n, world) : into(no.at(n, world), no.unit, yes.unit);
      return from([test, taken], () => taken.value);
    },
  };
}

function vote(args: Expression[]): Expression {
  const unit = (args[0] as Expression).unit;
  return {
    text: `median(${args.map(({ text }) => text).join(', ')})`,
    unit,
    at(n, world) {
      const all = args.map((arg) => into(arg.at(n, world), arg.unit, unit));
      const good = all.filter(usable).sort((a, b) => a.value - b.value);
      if (good.length === 0) return from(all, () => 0);
      const [low, high] = [good[(good.length - 1) >> 1], good[good.length >> 1]] as [Answer, Answer];
      return from(good, () => (low === high ? low.value : (low.value + high.value) / 2));
    },
  };
}

function pick(name: 'min' | 'max', a: Expression, b: Expression): Expression {
  const both = two('', a, b, a.unit, name === 'min' ? Math.min : Math.max, true);
  return { ...both, text: `${name}(${a.text}, ${b.text})` };
}

function one(text: (inner: string) => string, a: Expression, unit: string, apply: (x: number) => number): Expression {
  return {
    text: text(a.text),
    unit,
    at(n, world) {
      const x = a.at(n, world);
      return from([x], () => apply(x.value));
    },
  };
}

const previous = (a: Expression): Expression => ({
  text: `previous(${a.text})`,
  unit: a.unit,
  at(n, world) {
    const age = n > 0 ? (world.times[n] as number) - (world.times[n - 1] as number) : Number.POSITIVE_INFINITY;
    return age <= world.staleAfter ? a.at(n - 1, world) : { value: Number.NaN, code: 15 };
  },
});

const hold = (a: Expression, age: number): Expression => ({
  text: `hold(${a.text}, ${age}[s])`,
  unit: a.unit,
  at(n, world) {
    for (let i = n; i >= 0 && (world.times[n] as number) - (world.times[i] as number) <= age * 1e6; i--) {
      const answer = a.at(i, world);
      if (usable(answer)) return answer;
    }
    return a.at(n, world);
  },
});

const extreme = (name: 'moving_min' | 'moving_max', a: Expression, width: number): Expression => ({
  text: `${name}(${a.text}, ${width}[s])`,
  unit: a.unit,
  at(n, world) {
    const present = a.at(n, world);
    if (!usable(present)) return present;
    const all: Answer[] = [];
    for (let i = 0; i <= n; i++)
      if ((world.times[n] as number) - (world.times[i] as number) <= width * 1e6) all.push(a.at(i, world));
    const good = all.filter(usable);
    const values = good.map(({ value }) => value);
    return from(good, () => (name === 'moving_min' ? Math.min(...values) : Math.max(...values)));
  },
});

const signs = {
  '<': (x: number, y: number) => Number(x < y),
  '<=': (x: number, y: number) => Number(x <= y),
  '>': (x: number, y: number) => Number(x > y),
  '>=': (x: number, y: number) => Number(x >= y),
  '==': (x: number, y: number) => Number(x === y),
  '!=': (x: number, y: number) => Number(x !== y),
};

const leaves: Record<Dimension, Expression[]> = {
  number: [
    ...received.filter(({ unit }) => unit === '1').map(({ id, unit }) => parameter(id, unit)),
    number(0.5, '1'),
    number(-3, '1'),
    number(2, '1'),
  ],
  speed: [parameter('U', 'kt'), parameter('V', 'm/s'), number(12, 'kt'), number(-300, 'ft/min')],
};

export function expression(dimension: Dimension, depth: number, extra: Expression[]): fc.Arbitrary<Expression> {
  const leaf = fc.constantFrom(...leaves[dimension], ...(dimension === 'number' ? extra : []));
  if (depth === 0) return leaf;
  const same = expression(dimension, depth - 1, extra);
  const num = expression('number', depth - 1, extra);
  const any = fc.oneof(num, expression('speed', depth - 1, extra));
  const pair = fc.tuple(same, same);
  const options: fc.Arbitrary<Expression>[] = [
    leaf,
    pair.map(([a, b]) => two('+', a, b, a.unit, (x, y) => x + y, true)),
    pair.map(([a, b]) => two('-', a, b, a.unit, (x, y) => x - y, true)),
    fc.tuple(same, num).map(([a, b]) => two('*', a, b, a.unit, (x, y) => x * y, false)),
    fc.tuple(same, num).map(([a, b]) => two('/', a, b, a.unit, (x, y) => x / y, false)),
    fc.tuple(num, same, same).map(([c, a, b]) => choice(c, a, b)),
    fc.array(same, { minLength: 1, maxLength: 5 }).map(vote),
    fc.tuple(fc.constantFrom('min' as const, 'max' as const), same, same).map(([name, a, b]) => pick(name, a, b)),
    same.map((a) =>
      one(
        (text) => `(-${text})`,
        a,
        a.unit,
        (x) => -x,
      ),
    ),
    same.map((a) => one((text) => `abs(${text})`, a, a.unit, Math.abs)),
    ...libraryOf(dimension, same, num),
    same.map(previous),
    fc.tuple(same, fc.constantFrom(0, 0.03, 0.2)).map(([a, age]) => hold(a, age)),
    fc
      .tuple(fc.constantFrom('moving_min' as const, 'moving_max' as const), same, fc.constantFrom(0.02, 0.1))
      .map(([name, a, width]) => extreme(name, a, width)),
  ];
  if (dimension === 'number') {
    const sign = fc.constantFrom(...(Object.keys(signs) as (keyof typeof signs)[]));
    options.push(
      fc
        .tuple(
          sign,
          any.chain((a) => expression(a.unit === '1' ? 'number' : 'speed', 0, extra).map((b) => [a, b] as const)),
        )
        .map(([name, [a, b]]) => two(name, a, b, '1', signs[name], true)),
      fc.tuple(fc.constantFrom('and' as const, 'or' as const), num, num).map(([name, a, b]) => logic(name, a, b)),
      num.map((a) =>
        one(
          (text) => `(not ${text})`,
          a,
          '1',
          (x) => (x === 0 ? 1 : 0),
        ),
      ),
      num.map((a) => one((text) => `sqrt(${text})`, a, '1', Math.sqrt)),
      num.map((a) =>
        one(
          (text) => `(${text} ^ 2)`,
          a,
          '1',
          (x) => x * x,
        ),
      ),
      num.map((a) =>
        one(
          (text) => `(${text} ^ -1)`,
          a,
          '1',
          (x) => 1 / x,
        ),
      ),
      num.map((a) =>
        one(
          (text) => `bit(${text}, 1)`,
          a,
          '1',
          (x) => (Number.isSafeInteger(x) && x >= 0 ? Math.floor(x / 2) % 2 : Number.NaN),
        ),
      ),
    );
  }
  return fc.oneof(...options);
}
