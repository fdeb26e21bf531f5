/**
 * The text of a limit of kind `logic`: AND, OR, NOT and "at least n of" over other limits.
 *
 *     nr-low and not (tq-high or tot-high at warning)
 *     2 of (fuel-low, fuel-flow-low, fuel-pressure-low at caution)
 *
 * A limit is true while it is outside, at any level or at the one named and above; false while it is inside or pending.
 * `not` binds before `and`, `and` before `or`.
 */
import { type Level, type LevelNumber, levelNumber, levels } from '../../protocol/limit.ts';
import { atLeast, negation, NO, type Truth, UNSURE, YES } from './truth.ts';

/** What an expression is evaluated over, by slot of `LogicExpression.limits`. */
export interface Said {
  truth: Uint8Array;
  /** level reached, 0 for none */
  level: Uint8Array;
}

export interface LogicExpression {
  /** ids of the limits it names, each once */
  limits: readonly string[];
  evaluate(said: Said): Truth;
}

/** Where an expression cannot be read. */
export interface LogicTrouble {
  found: string;
  expected: string;
}

/** Brackets inside brackets, and signs of negation in a row: more than anybody writes. */
const DEEPEST = 40;

type Node = (said: Said) => Truth;

/** Reads the text; or says where it cannot be read. */
export function parseLogic(text: string): LogicExpression | LogicTrouble {
  try {
    const reader = new Reader(text);
    const evaluate = reader.whole();
    return { limits: reader.limits, evaluate };
  } catch (error) {
    if (error instanceof Unreadable) return { found: error.found, expected: error.expected };
    throw error;
  }
}

class Unreadable extends Error {
  readonly found: string;
  readonly expected: string;

  constructor(found: string, expected: string) {
    super(found);
    this.found = found;
    this.expected = expected;
  }
}

const NAME = /^[A-Za-z]/;
const NUMBER = /^\d+$/;
const words = new Set(['and', 'or', 'not', 'of', 'at']);

class Reader {
  readonly limits: string[] = [];
  private readonly tokens: readonly string[];
  private at = 0;
  private depth = 0;

  constructor(text: string) {
    // what is none of these stands alone and is refused where it comes
    this.tokens = text.match(/[A-Za-z][A-Za-z0-9_.'-]*|\d+|\S/g) ?? [];
  }

  whole(): Node {
    const result = this.either();
    if (this.at < this.tokens.length) this.refuse('and, or, or the end');
    return result;
  }

  private refuse(expected: string): never {
    const token = this.tokens[this.at];
    throw new Unreadable(token === undefined ? 'the end' : `"${token}"`, expected);
  }

  private skips(token: string): boolean {
    if (this.tokens[this.at] !== token) return false;
    this.at++;
    return true;
  }

  private needs(token: string): void {
    if (!this.skips(token)) this.refuse(`"${token}"`);
  }

  private either(): Node {
    const parts = [this.both()];
    while (this.skips('or')) parts.push(this.both());
    return counted(1, parts);
  }

  private both(): Node {
    const parts = [this.one()];
    while (this.skips('and')) parts.push(this.one());
    return counted(parts.length, parts);
  }

  private one(): Node {
    if (++this.depth > DEEPEST) this.refuse(`at most ${DEEPEST} brackets or "not" inside one another`);
    const result = this.innermost();
    this.depth--;
    return result;
  }

  private innermost(): Node {
    const token = this.tokens[this.at];
    if (this.skips('not')) {
      const part = this.one();
      return (said) => negation(part(said));
    }
    if (this.skips('(')) {
      const part = this.either();
      this.needs(')');
      return part;
    }
    if (token !== undefined && NUMBER.test(token)) return this.several(Number(token));
    if (token !== undefined && NAME.test(token) && !words.has(token)) return this.limit(token);
    return this.refuse('the id of a limit, "not", "(" or "n of ("');
  }

  private several(least: number): Node {
    const number = this.at++;
    this.needs('of');
    this.needs('(');
    const parts = [this.either()];
    while (this.skips(',')) parts.push(this.either());
    this.needs(')');
    if (least >= 1 && least <= parts.length) return counted(least, parts);
    this.at = number;
    return this.refuse(`a number from 1 to ${parts.length}, of which there are`);
  }

  private limit(id: string): Node {
    this.at++;
    const level = this.skips('at') ? this.level() : 1;
    const known = this.limits.indexOf(id);
    const slot = known >= 0 ? known : this.limits.push(id) - 1;
    return ({ truth, level: reached }) => {
      const said = truth[slot] as Truth;
      return said === YES && (reached[slot] as number) < level ? NO : said;
    };
  }

  private level(): LevelNumber {
    const token = this.tokens[this.at];
    if (!(levels as readonly (string | undefined)[]).includes(token)) this.refuse(`a level: ${levels.join(', ')}`);
    this.at++;
    return levelNumber(token as Level);
  }
}

/** At least so many of the parts: 1 is or, all of them is and. */
function counted(least: number, parts: readonly Node[]): Node {
  if (parts.length === 1) return parts[0] as Node;
  return (said) => {
    let yes = 0;
    let unsure = 0;
    for (const part of parts) {
      const one = part(said);
      if (one === YES) yes++;
      else if (one === UNSURE) unsure++;
    }
    return atLeast(least, yes, unsure);
  };
}
