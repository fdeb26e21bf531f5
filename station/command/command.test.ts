import { describe, expect, it } from 'vitest';
import { type Command, helpText, jsonOption, readArguments, WrongUse } from './command.ts';

const command: Command = {
  name: 'send',
  summary: 'send frames',
  usage: 'SCENARIO [EXTRA]',
  options: [
    { name: 'to', kind: 'text', value: 'ADDRESS', required: true, summary: 'where to' },
    {
      name: 'delay',
      kind: 'number',
      value: 'MS',
      unit: 'ms',
      default: 20,
      min: 0,
      max: 1000,
      summary: 'delay of each',
    },
    { name: 'seed', kind: 'number', whole: true, summary: 'of the chance' },
    { name: 'receiver', kind: 'text', repeatable: true, summary: 'by way of' },
    jsonOption,
  ],
  run: async () => 0,
};

const read = (...words: string[]) => readArguments(command, words);
const refusal = (...words: string[]) => {
  try {
    read(...words);
  } catch (error) {
    if (error instanceof WrongUse) return error.message;
    throw error;
  }
  return '';
};

describe('the words of a command', () => {
  it('give operands, values, numbers, repeated values, flags and defaults', () => {
    const args = read('first', '--to', 'udp://x:1', '--receiver=a', '--receiver', 'b', '--seed', '-7', '--json');
    expect(args.operands).toEqual(['first']);
    expect(args.operand).toBe('first');
    expect(args.text('to')).toBe('udp://x:1');
    expect(args.texts('receiver')).toEqual(['a', 'b']);
    expect(args.number('seed')).toBe(-7);
    expect(args.number('delay')).toBe(20);
    expect(args.given('delay')).toBe(false);
    expect(args.flag('json')).toBe(true);
    expect(read('first', '--to', 'x').optionalNumber('seed')).toBeUndefined();
  });

  it('take everything after -- as operands', () => {
    expect(read('--to', 'x', '--', '--json', 'b').operands).toEqual(['--json', 'b']);
  });

  it.each([
    [['--to', 'x'], 'SCENARIO is missing'],
    [['a'], '--to ADDRESS is needed'],
    [['a', 'b', 'c', '--to', 'x'], '"c" is not clear'],
    [['a', '--to'], '--to needs a value: ADDRESS'],
    [['a', '--to', '--json'], '--to needs a value, found the option --json'],
    [['a', '--to', 'x', '--to', 'y'], '--to is given twice'],
    [['a', '--to', 'x', '--dealy', '3'], 'unknown option --dealy; did you mean --delay?'],
    [['a', '--to', 'x', '-v'], 'unknown option -v'],
    [['a', '--to', 'x', '--json=yes'], '--json takes no value, found yes'],
    [['a', '--to', 'x', '--delay', '1001'], '--delay expects a number from 0 to 1000 ms, found 1001'],
    [['a', '--to', 'x', '--delay', ''], 'found '],
    [['a', '--to', 'x', '--delay', '3ms'], 'found 3ms'],
    [['a', '--to', 'x', '--delay', 'Infinity'], 'found Infinity'],
    [['a', '--to', 'x', '--seed', '1.5'], '--seed expects a whole number, found 1.5'],
  ])('%j are wrong use: %s', (words, message) => {
    expect(refusal(...words)).toContain(message);
  });

  it('are not read by a name or kind that the command does not declare', () => {
    const args = read('a', '--to', 'x');
    expect(() => args.text('form')).toThrow('declares no text option form');
    expect(() => args.number('to')).toThrow('declares no number option to');
  });
});

describe('the help of a command', () => {
  it('names operands and every option with its unit, bounds and default', () => {
    const text = helpText(command);
    expect(text).toContain('groundchase send SCENARIO [EXTRA] [options]');
    expect(text).toMatch(/--delay MS +delay of each \(a number from 0 to 1000 ms; default 20 ms\)/);
    expect(text).toMatch(/--to ADDRESS +where to \(needed\)/);
    expect(text).toMatch(/--receiver TEXT +by way of \(may be repeated\)/);
    expect(text).toContain('--json');
    expect(text).toContain('--help');
  });
});
