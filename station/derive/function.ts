/** What a function of the formula language is: how it is called, what it gives, what it does. */
import type { Boundary, Table } from '../../protocol/table.ts';
import { divideUnits, parseUnit, type Unit } from '../../protocol/units.ts';
import type { Drive, Memory } from './memory.ts';

/**
 * Unit of an argument: a spelling of protocol/units.ts, into which the argument is converted; `x`: any, but all `x` of
 * one call are converted to the first one's; `dx`: as `x`, degC and degF becoming K; `si`: the coherent unit; `any`: any,
 * each its own; `x/s`, of a setting: the unit of the first argument a second.
 */
export interface Argument {
  name: string;
  unit: string;
  /** a constant, within these bounds in that unit; `otherwise` when it is left out */
  setting?: { from: number; to: number; whole?: boolean; otherwise?: number };
  /** not a value, but the name of a thing that the mission declares */
  thing?: 'table' | 'boundary';
}

export type Thing = Table | Boundary;
export type Work = (...args: number[]) => number;

export interface FormulaFunction {
  name: string;
  args: readonly Argument[];
  /** how many of the last arguments may be repeated */
  repeats: 0 | 1 | 2;
  /** unit of the result: a spelling, or made from the unit of the first argument */
  result: string | ((x: Unit) => Unit);
  summary: string;
  /** symbol, range, what happens at the start and over a gap: what a person needs to use it rightly */
  detail?: string;
  source: string;
  work:
    | { kind: 'plain'; of: Work; code?: (...args: string[]) => string }
    /** a plain function that is made once for a call, from the thing it names and its settings */
    | { kind: 'made'; make: (thing: Thing | undefined, settings: readonly number[]) => Work }
    | Vote
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

/** Of those arguments that are usable, in a scratch column, in order; it may reorder them. */
export interface Vote {
  kind: 'vote';
  of: (usable: Float64Array, count: number) => number;
  /** so many must be usable, or the result is not */
  least: number;
  /** the first argument must be among them */
  first?: boolean;
}

const second = parseUnit('s') as Unit;
export const same = (x: Unit): Unit => x;
export const perSecond = (x: Unit): Unit => divideUnits(x, second);
export const arg = (name: string, unit: string): Argument => ({ name, unit });

/** What there is to say of a function beside how it is called. */
interface About {
  summary: string;
  detail?: string;
  source?: string;
}

type Result = FormulaFunction['result'];

export const definition = 'definition';

export function plain(
  name: string,
  args: readonly Argument[],
  result: Result,
  of: Work,
  about: About,
  code?: (...args: string[]) => string,
): FormulaFunction {
  return made(name, args, result, { kind: 'plain', of, ...(code && { code }) }, about);
}

export function made(
  name: string,
  args: readonly Argument[],
  result: Result,
  work: FormulaFunction['work'],
  { source = definition, ...about }: About,
): FormulaFunction {
  return { name, args, repeats: 0, result, ...about, source, work };
}

export const repeated = (one: FormulaFunction, repeats: 1 | 2 = 1): FormulaFunction => ({ ...one, repeats });

/** How a function is called: `lowpass(x, cutoff [Hz], order = 2)`. */
export function signature(one: FormulaFunction): string {
  const args = one.args.map(({ name, unit, setting, thing }) => {
    if (thing) return name;
    const bare = ['x', 'dx', 'si', 'any', 'x/s', '1'].includes(unit);
    const spelled = bare ? name : `${name} [${unit}]`;
    return setting?.otherwise === undefined ? spelled : `${spelled} = ${setting.otherwise}`;
  });
  return `${one.name}(${args.join(', ')}${one.repeats > 0 ? ', ...' : ''})`;
}

/** The argument at this place, the last ones being repeated. */
export function argumentAt({ args, repeats }: FormulaFunction, i: number): Argument {
  const over = i - args.length;
  return (over < 0 ? args[i] : args[args.length - repeats + (over % repeats)]) as Argument;
}
