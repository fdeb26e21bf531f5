/**
 * A slow, obvious evaluator against the compiled formulas: random formulas over random streams with gaps, marks and
 * unusable samples, cut into batches anywhere, saved and restored anywhere. Every value and validity must be the same
 * bit for bit. The evaluator keeps all samples it ever saw and computes each answer from scratch.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Batch } from '../../protocol/batch.ts';
import { findingText } from '../../protocol/finding.ts';
import { columnGroups, type Mission } from '../../protocol/mission.ts';
import { convertUnit } from '../../protocol/units.ts';
import { compileDerive, type Derive } from '../../station/derive/derive.ts';

const FRAME = 20_000;
const groups = [
  { id: 'fast', rate: 500, staleAfter: 100_000 },
  { id: 'main', rate: 100, staleAfter: 80_000 },
  { id: 'slow', rate: 10, staleAfter: 300_000 },
];
const received = [
  { id: 'F', unit: '1', group: 'fast' },
  { id: 'A', unit: '1', group: 'main' },
  { id: 'B', unit: '1', group: 'main' },
  { id: 'U', unit: 'kt', group: 'main' },
  { id: 'V', unit: 'm/s', group: 'slow' },
  { id: 'S', unit: '1', group: 'slow' },
];

function missionOf(derived: { unit: string; drivenBy: string; formula: string }[]): Mission {
  return {
    baselineId: 'reference',
    name: 'reference',
    stream: 'REF',
    aircraft: { name: '', softwareId: '', configurationId: '' },
    receivers: [],
    people: [],
    words: { class1: [], class2: [] } as unknown as Mission['words'],
    groups,
    parameters: received.map((one) => ({
      ...one,
      name: one.id,
      format: 'f64',
      calibration: { kind: 'polynomial', coefficients: [0, 1] },
    })),
    derived: derived.map((one, i) => ({ id: `D${i}`, name: `D${i}`, ...one })),
    limits: [],
    pages: [],
  };
}

// ---------------------------------------------------------------- the slow evaluator

interface Sample {
  time: number;
  value: number;
  code: number;
}

/** A number, or why there is none: 15 an input is not usable, 16 it has no value. Marks 0 to 2 otherwise. */
interface Answer {
  value: number;
  code: number;
}

const usable = (answer: Answer): boolean => answer.code < 8;

function from(parts: Answer[], value: () => number): Answer {
  const codes = parts.map(({ code }) => code);
  if (codes.includes(15)) return { value: Number.NaN, code: 15 };
  if (codes.includes(16)) return { value: Number.NaN, code: 16 };
  const result = value();
  return Number.isFinite(result) ? { value: result, code: Math.max(0, ...codes) } : { value: Number.NaN, code: 16 };
}

type Dimension = 'number' | 'speed';

/** A formula as this test makes it: text, unit, and the answer for the n-th sample of the driving group. */
interface Expression {
  text: string;
  unit: string;
  at: (n: number, world: World) => Answer;
}

/** Everything that was ever received or derived, and which group drives. */
interface World {
  times: number[];
  group: string;
  staleAfter: number;
  samples: Map<string, { group: string; staleAfter: number; samples: Sample[] }>;
}

const number = (value: number, unit: string): Expression => {
  const bracket = unit === '1' ? '' : `[${unit}]`;
  return { text: value < 0 ? `(-${-value}${bracket})` : `${value}${bracket}`, unit, at: () => ({ value, code: 0 }) };
};

function parameter(id: string, unit: string): Expression {
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

const into = (answer: Answer, unit: string, wanted: string): Answer =>
  unit === wanted ? answer : from([answer], () => convertUnit(answer.value, unit, wanted));

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

// ---------------------------------------------------------------- random formulas

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

function expression(dimension: Dimension, depth: number, extra: Expression[]): fc.Arbitrary<Expression> {
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

// ---------------------------------------------------------------- random streams

const values = fc.oneof(
  { weight: 6, arbitrary: fc.constantFrom(-7.25, -2, -1, 0, 0.1, 1, 2, 3, 6, 10.5) },
  { weight: 1, arbitrary: fc.constantFrom(1e308, -1e308, 5e-324) },
);
/** mostly good; the dirtier ones make sure that single bad samples and all-bad batches both happen */
const codes = fc.oneof(
  { weight: 12, arbitrary: fc.constant(0) },
  { weight: 2, arbitrary: fc.constantFrom(1, 2) },
  { weight: 2, arbitrary: fc.constantFrom(8, 11, 12, 13, 16) },
);

interface Stream {
  /** by received parameter */
  columns: Map<string, Sample[]>;
  frames: number;
}

const stream: fc.Arbitrary<Stream> = fc
  .record({
    frames: fc.integer({ min: 3, max: 25 }),
    lost: fc.array(fc.nat(24), { maxLength: 8 }),
    /** when false, all samples are good: only then does the fast path run over whole batches */
    dirty: fc.boolean(),
    values: fc.array(values, { minLength: 20, maxLength: 60 }),
    codes: fc.array(codes, { minLength: 20, maxLength: 60 }),
  })
  .map((random) => {
    const columns = new Map<string, Sample[]>();
    for (const [p, { id, group }] of received.entries()) {
      const { rate } = groups.find((one) => one.id === group) as (typeof groups)[number];
      const samples: Sample[] = [];
      for (let k = 0, time = 0; time < random.frames * FRAME; k++, time = Math.round((k * 1e6) / rate)) {
        if (random.lost.includes(Math.floor(time / FRAME))) continue;
        const pick = k * 7 + p * 3;
        const code = random.dirty ? (random.codes[pick % random.codes.length] as number) : 0;
        samples.push({ time, value: random.values[pick % random.values.length] as number, code });
      }
      columns.set(id, samples);
    }
    return { columns, frames: random.frames };
  });

// ---------------------------------------------------------------- running both

function batchesOf(mission: Mission, { columns }: Stream, fromFrame: number, toFrame: number): (Batch | undefined)[] {
  const columnGroup = columnGroups(mission);
  return groups.map((group, g): Batch | undefined => {
    const inGroup = received.filter((one) => one.group === group.id);
    const cut = inGroup.map(({ id }) =>
      (columns.get(id) as Sample[]).filter(({ time }) => time >= fromFrame * FRAME && time < toFrame * FRAME),
    );
    const first = cut[0] as Sample[];
    const length = first.length;
    if (length === 0) return undefined;
    const numbers = columnGroup.flatMap((of, column) => (of === g ? [column] : []));
    const received_ = inGroup.length;
    const batch: Batch = {
      group: g,
      length,
      time: Float64Array.from(first, ({ time }) => time),
      columns: numbers,
      received: received_,
      values: numbers.map((_, i) =>
        cut[i]
          ? Float64Array.from(cut[i], ({ value, code }) => (code < 8 ? value : Number.NaN))
          : new Float64Array(length),
      ),
      validity: numbers.map((_, i) =>
        cut[i] ? Uint8Array.from(cut[i], ({ code }) => code) : new Uint8Array(length).fill(99),
      ),
      low: new Float64Array(numbers.length),
      high: new Float64Array(numbers.length),
      worst: Uint8Array.from(numbers, (_, i) => Math.max(0, ...(cut[i] ?? []).map(({ code }) => code))),
    };
    return batch;
  });
}

/** What the stage answers for each derived parameter, with batches cut and states restored where `cuts` says. */
function runStage(
  mission: Mission,
  input: Stream,
  cuts: { frames: number; restore: boolean }[],
): Map<string, Sample[]> {
  const fresh = (): Derive => {
    const compiled = compileDerive(mission);
    if (!compiled.value) throw new Error(compiled.findings.map(findingText).join('\n'));
    return compiled.value;
  };
  const result = new Map(mission.derived.map(({ id }) => [id, [] as Sample[]]));
  let stage = fresh();
  for (let frame = 0, i = 0; frame < input.frames; i++) {
    const { frames, restore } = cuts[i % cuts.length] as (typeof cuts)[number];
    const batches = batchesOf(mission, input, frame, Math.min(frame + frames, input.frames));
    frame += frames;
    stage.run(batches);
    for (const [d, { id }] of mission.derived.entries())
      collect(result.get(id) as Sample[], batches, received.length + d);
    if (!restore) continue;
    const state = structuredClone(stage.save());
    stage = fresh();
    stage.restore(state);
  }
  return result;
}

function collect(into: Sample[], batches: (Batch | undefined)[], column: number): void {
  for (const batch of batches) {
    const position = batch?.columns.indexOf(column) ?? -1;
    if (!batch || position < 0) continue;
    const [value, validity] = [batch.values[position] as Float64Array, batch.validity[position] as Uint8Array];
    const good: number[] = [];
    for (let i = 0; i < batch.length; i++) {
      into.push({ time: batch.time[i] as number, value: value[i] as number, code: validity[i] as number });
      if ((validity[i] as number) < 8) good.push(value[i] as number);
    }
    expect((batch.low[position] as number) + 0).toBe(Math.min(...good) + 0);
    expect((batch.high[position] as number) + 0).toBe(Math.max(...good) + 0);
    expect(batch.worst[position]).toBe(Math.max(...validity.subarray(0, batch.length)));
  }
}

/** The same from scratch, sample by sample. */
function runReference(
  derived: { expression: Expression; unit: string; drivenBy: string }[],
  input: Stream,
): Map<string, Sample[]> {
  const samples: World['samples'] = new Map();
  const ageOf = (group: string) => (groups.find(({ id }) => id === group) as (typeof groups)[number]).staleAfter;
  for (const { id, group } of received)
    samples.set(id, { group, staleAfter: ageOf(group), samples: input.columns.get(id) as Sample[] });
  const result = new Map<string, Sample[]>();
  for (const [d, { expression: formula, unit, drivenBy }] of derived.entries()) {
    const driver = received.find(({ group }) => group === drivenBy) as (typeof received)[number];
    const times = (input.columns.get(driver.id) as Sample[]).map(({ time }) => time);
    const world: World = { times, group: drivenBy, staleAfter: ageOf(drivenBy), samples };
    const answers = times.map((time, n): Sample => {
      const { value, code } = into(formula.at(n, world), formula.unit, unit);
      return { time, value, code };
    });
    result.set(`D${d}`, answers);
    samples.set(`D${d}`, { group: drivenBy, staleAfter: ageOf(drivenBy), samples: answers });
  }
  return result;
}

/** Equal to the last bit, except that 0 and -0 count as one. */
function expectSame(fast: Map<string, Sample[]>, slow: Map<string, Sample[]>, what: string): void {
  for (const [id, expected] of slow) {
    const found = fast.get(id) as Sample[];
    expect(found.length, what).toBe(expected.length);
    for (const [i, sample] of expected.entries()) {
      const { time, value, code } = found[i] as Sample;
      const same = time === sample.time && code === sample.code && (value === sample.value || code >= 8);
      if (!same || (code >= 8 && !Number.isNaN(value)))
        throw new Error(
          `${id} sample ${i} at ${sample.time}: ${value}/${code}, expected ${sample.value}/${sample.code}\n${what}`,
        );
    }
  }
}

const cuts = fc.array(fc.record({ frames: fc.integer({ min: 1, max: 8 }), restore: fc.boolean() }), {
  minLength: 1,
  maxLength: 6,
});
const drivers = fc.constantFrom('fast', 'main', 'slow');

/** Two derived parameters, the second of which may use the first. */
const formulas = fc.tuple(drivers, drivers, expression('number', 3, [])).chain(([first, second, a]) =>
  fc.constantFrom<Dimension>('number', 'speed').chain((dimension) =>
    expression(dimension, 3, [parameter('D0', '1')]).map((b) => [
      { expression: a, unit: '1', drivenBy: first },
      { expression: b, unit: b.unit === '1' ? '1' : 'km/h', drivenBy: second },
    ]),
  ),
);

describe('derive against the slow evaluator', () => {
  it('gives the same values and validity for any formula, stream, cut, save and restore', () => {
    let compared = 0;
    fc.assert(
      fc.property(formulas, stream, cuts, (derived, input, where) => {
        const mission = missionOf(
          derived.map(({ expression: { text }, unit, drivenBy }) => ({ formula: text, unit, drivenBy })),
        );
        const text = derived.map((one) => one.expression.text).join('\n');
        const compiled = compileDerive(mission);
        if (!compiled.value) {
          // constants may come out as a division by zero, the root of a negative number: rightly refused
          expect(
            compiled.findings.map(({ code }) => code).filter((code) => code !== 'formula-undefined'),
            `${text}\n${compiled.findings.map(findingText)}`,
          ).toEqual([]);
          return;
        }
        compared++;
        expectSame(runStage(mission, input, where), runReference(derived, input), text);
      }),
      { seed: 20261125, numRuns: 600 },
    );
    expect(compared).toBeGreaterThan(400);
  });
});
