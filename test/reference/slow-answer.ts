/** What the slow formulas are made of: samples, answers, and expressions that answer from scratch for any sample. */
import { convertUnit } from '../../protocol/units.ts';

export interface Sample {
  time: number;
  value: number;
  code: number;
}

/** A number, or why there is none: 15 an input is not usable, 16 it has no value. Marks 0 to 2 otherwise. */
export interface Answer {
  value: number;
  code: number;
}

export const usable = (answer: Answer): boolean => answer.code < 8;

export function from(parts: Answer[], value: () => number): Answer {
  const codes = parts.map(({ code }) => code);
  if (codes.includes(15)) return { value: Number.NaN, code: 15 };
  if (codes.includes(16)) return { value: Number.NaN, code: 16 };
  const result = value();
  return Number.isFinite(result) ? { value: result, code: Math.max(0, ...codes) } : { value: Number.NaN, code: 16 };
}

export type Dimension = 'number' | 'speed';

/** A formula as this test makes it: text, unit, and the answer for the n-th sample of the driving group. */
export interface Expression {
  text: string;
  unit: string;
  at: (n: number, world: World) => Answer;
}

/** Everything that was ever received or derived, and which group drives. */
export interface World {
  times: number[];
  group: string;
  staleAfter: number;
  samples: Map<string, { group: string; staleAfter: number; samples: Sample[] }>;
}

export const into = (answer: Answer, unit: string, wanted: string): Answer =>
  unit === wanted ? answer : from([answer], () => convertUnit(answer.value, unit, wanted));

/** Keeps what was answered: an expression that goes over all samples asks for each of them again and again. */
export function remembered(expression: Expression): Expression {
  const worlds = new WeakMap<World, Answer[]>();
  return {
    ...expression,
    at(n, world) {
      let answers = worlds.get(world);
      if (!answers) {
        answers = [];
        worlds.set(world, answers);
      }
      answers[n] ??= expression.at(n, world);
      return answers[n];
    },
  };
}

/** All arguments in the unit of the first. */
export const alike = (args: Expression[]): Expression[] => {
  const unit = (args[0] as Expression).unit;
  return args.map((arg) => ({ ...arg, unit, at: (n, world) => into(arg.at(n, world), arg.unit, unit) }));
};
