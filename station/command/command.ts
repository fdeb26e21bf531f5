/**
 * What a command of `groundchase` is, and how its words are read. Results go to standard output, everything else to
 * standard error; the exit code is 0 for success, 1 for a finding, 2 for wrong use.
 */
import { parseArgs } from 'node:util';
import { type Finding, findingText, nearestName } from '../../protocol/finding.ts';
import { visible } from '../../protocol/visible-text.ts';

export const exitCode = { success: 0, finding: 1, wrongUse: 2 } as const;

export interface CommandOption {
  /** long name without dashes */
  name: string;
  /** `flag` takes no value; `number` is read in the stated unit; `text` is taken as written */
  kind: 'flag' | 'number' | 'text';
  /** stands for the value in the help: ADDRESS, DIR, PORT */
  value?: string;
  /** unit of a number: ms, s, bytes, samples/s */
  unit?: string;
  /** what holds when the option is absent; absent itself = nothing */
  default?: string | number;
  required?: boolean;
  /** may be given several times; read with `texts` */
  repeatable?: boolean;
  /** bounds of a number, both allowed */
  min?: number;
  max?: number;
  /** the number must be whole */
  whole?: boolean;
  summary: string;
}

export interface Command {
  name: string;
  /** one line, for the list of commands */
  summary: string;
  /**
   * The operands as they are written after the name: `DIR` is needed, `[SCENARIO]` may be left out, a last `FILE...`
   * stands for one or more. Their number is checked against this.
   */
  usage: string;
  /** more for a person who asks: what is printed, an example */
  details?: string;
  options: readonly CommandOption[];
  /** Gives the exit code. Throws WrongUse for words that make no sense, Trouble for a cause outside the program. */
  run(args: Arguments): Promise<number>;
}

/** For `options` of a command that can give its result as JSON. */
export const jsonOption: CommandOption = {
  name: 'json',
  kind: 'flag',
  summary: 'give the result as JSON on standard output',
};

/** The words after the command's name make no sense: exit code 2, with a pointer to the help. */
export class WrongUse extends Error {}

/** Something outside the program is in the way (a file, a port): the message alone is printed, exit code 1. */
export class Trouble extends Error {}

/** The words of one call, read and checked against the command's options. */
export class Arguments {
  readonly operands: readonly string[];
  #options: ReadonlyMap<string, CommandOption>;
  #values: ReadonlyMap<string, readonly string[]>;

  constructor(
    options: readonly CommandOption[],
    operands: readonly string[],
    values: ReadonlyMap<string, readonly string[]>,
  ) {
    this.operands = operands;
    this.#options = new Map(options.map((option) => [option.name, option]));
    this.#values = values;
  }

  /** The first operand, or '' when it was left out. */
  get operand(): string {
    return this.operands[0] ?? '';
  }

  flag(name: string): boolean {
    this.#declared(name, 'flag');
    return this.#values.has(name);
  }

  /** The value as written, or the default; '' when there is neither. */
  text(name: string): string {
    const option = this.#declared(name, 'text');
    return this.#values.get(name)?.at(-1) ?? String(option.default ?? '');
  }

  /** All values of a repeatable option, in order; the default alone when there is none. */
  texts(name: string): readonly string[] {
    const option = this.#declared(name, 'text');
    return this.#values.get(name) ?? (option.default === undefined ? [] : [String(option.default)]);
  }

  /** The number, or the default; undefined when there is neither. */
  optionalNumber(name: string): number | undefined {
    const option = this.#declared(name, 'number');
    const written = this.#values.get(name)?.at(-1);
    return written === undefined ? (option.default as number | undefined) : Number(written);
  }

  /** The number, or the default. */
  number(name: string): number {
    const value = this.optionalNumber(name);
    if (value === undefined) throw new Error(`option ${name} has neither value nor default`);
    return value;
  }

  /** True when the person gave the option. */
  given(name: string): boolean {
    return this.#values.has(name);
  }

  #declared(name: string, kind: CommandOption['kind']): CommandOption {
    const option = this.#options.get(name);
    if (option?.kind !== kind) throw new Error(`the command declares no ${kind} option ${name}`);
    return option;
  }
}

/** Reads the words after the command's name. Throws WrongUse. */
export function readArguments(command: Command, words: readonly string[]): Arguments {
  const known = new Map(command.options.map((option) => [option.name, option]));
  const { tokens } = parseArgs({
    args: [...words],
    options: Object.fromEntries(
      command.options.map((option) => [
        option.name,
        { type: option.kind === 'flag' ? ('boolean' as const) : ('string' as const) },
      ]),
    ),
    strict: false,
    allowPositionals: true,
    tokens: true,
  });
  const operands: string[] = [];
  const values = new Map<string, string[]>();
  for (const token of tokens) {
    if (token.kind === 'positional') operands.push(token.value);
    if (token.kind !== 'option') continue;
    const option = known.get(token.name);
    if (option === undefined) throw new WrongUse(unknownOption(token.rawName, known.keys()));
    const before = values.get(option.name);
    if (before !== undefined && !option.repeatable) throw new WrongUse(`--${option.name} is given twice`);
    const value = optionValue(option, token.value);
    if (before === undefined) values.set(option.name, [value]);
    else before.push(value);
  }
  checkOperands(command, operands);
  for (const option of command.options)
    if (option.required && !values.has(option.name))
      throw new WrongUse(`--${option.name} ${option.value ?? ''}`.trim() + ' is needed');
  return new Arguments(command.options, operands, values);
}

function unknownOption(written: string, names: Iterable<string>): string {
  const near = nearestName(written.replace(/^-+/, ''), [...names, 'help']);
  return `unknown option ${written}${near === undefined ? '' : `; did you mean --${near}?`}`;
}

function optionValue(option: CommandOption, written: string | undefined): string {
  if (option.kind === 'flag') {
    if (written !== undefined) throw new WrongUse(`--${option.name} takes no value, found ${written}`);
    return '';
  }
  if (written === undefined) throw new WrongUse(`--${option.name} needs a value: ${option.value ?? option.kind}`);
  // a following option is taken for the value otherwise: `--mission --json`
  if (written.startsWith('--')) throw new WrongUse(`--${option.name} needs a value, found the option ${written}`);
  if (option.kind === 'text') return written;
  const number = written.trim() === '' ? Number.NaN : Number(written);
  const below = option.min !== undefined && number < option.min;
  const above = option.max !== undefined && number > option.max;
  if (!Number.isFinite(number) || below || above || (option.whole && !Number.isInteger(number)))
    throw new WrongUse(`--${option.name} expects ${numberText(option)}, found ${written}`);
  return written;
}

function numberText(option: CommandOption): string {
  const { min, max } = option;
  const unit = option.unit ? ` ${option.unit}` : '';
  const kind = option.whole ? 'a whole number' : 'a number';
  if (min !== undefined && max !== undefined) return `${kind} from ${min} to ${max}${unit}`;
  if (min !== undefined) return `${kind} of at least ${min}${unit}`;
  if (max !== undefined) return `${kind} of at most ${max}${unit}`;
  return `${kind}${option.unit ? ` in ${option.unit}` : ''}`;
}

function checkOperands(command: Command, operands: readonly string[]) {
  const words = command.usage.split(/\s+/).filter(Boolean);
  const needed = words.filter((word) => !word.startsWith('['));
  if (operands.length < needed.length) throw new WrongUse(`${needed[operands.length]} is missing`);
  const most = words.some((word) => word.includes('...')) ? Number.POSITIVE_INFINITY : words.length;
  if (operands.length > most) throw new WrongUse(`what to do with "${operands[most]}" is not clear`);
}

/** The text of `--help`, made from what the command declares. */
export function helpText(command: Command): string {
  const rows = [
    ...command.options.map((option) => [optionText(option), optionSummary(option)] as const),
    ['--help', 'show this'] as const,
  ];
  const width = Math.max(...rows.map(([left]) => left.length));
  const usage = ['groundchase', command.name, command.usage, '[options]'].filter(Boolean).join(' ');
  return [
    `${usage}\n`,
    `${command.summary}\n`,
    ...(command.details ? [`${command.details.trim()}\n`] : []),
    'Options:',
    ...rows.map(([left, right]) => `  ${left.padEnd(width)}  ${right}`),
    '\nExit code: 0 success, 1 a finding or trouble, 2 wrong use.',
  ].join('\n');
}

function optionText(option: CommandOption): string {
  if (option.kind === 'flag') return `--${option.name}`;
  return `--${option.name} ${option.value ?? (option.kind === 'number' ? 'N' : 'TEXT')}`;
}

function optionSummary(option: CommandOption): string {
  const notes = [
    option.kind === 'number' ? numberText(option) : '',
    option.required ? 'needed' : '',
    option.repeatable ? 'may be repeated' : '',
    option.default === undefined ? '' : `default ${option.default}${option.unit ? ` ${option.unit}` : ''}`,
  ].filter(Boolean);
  return option.summary + (notes.length > 0 ? ` (${notes.join('; ')})` : '');
}

/** One line of the result, on standard output. */
export function print(line: string) {
  // words of missions and recordings must not steer the terminal
  process.stdout.write(`${visible(line)}\n`);
}

/** The whole result as JSON, on standard output. */
export function printJson(value: unknown) {
  process.stdout.write(`${JSON.stringify(value, null, 2)}\n`);
}

/** Anything that is not the result, on standard error. */
export function say(line: string) {
  process.stderr.write(`${visible(line)}\n`);
}

/** All findings, one a line, on standard error; for a command whose result is something else. */
export function sayFindings(findings: readonly Finding[]) {
  for (const finding of findings) say(findingText(finding));
  say(`${findings.length} ${findings.length === 1 ? 'finding' : 'findings'}`);
}
