import { describe, expect, it } from 'vitest';
import { type LogicExpression, parseLogic } from './logic-expression.ts';

const trouble = (text: string): string => {
  const result = parseLogic(text);
  return 'found' in result ? `${result.found}, expected ${result.expected}` : 'none';
};

const name = 'the id of a limit, "not", "(" or "n of ("';

describe('the text of logic over limits', () => {
  it('names each limit once, in the order they come', () => {
    const of = (text: string) => (parseLogic(text) as LogicExpression).limits;
    expect(of('nr-low and not (tq_high or nr-low at warning) or 2 of (x1, nr-low, y.cannot-tell)')).toEqual([
      'nr-low',
      'tq_high',
      'x1',
      'y.cannot-tell',
    ]);
  });

  it.each([
    ['', `the end, expected ${name}`],
    ['a and', `the end, expected ${name}`],
    ['a b', '"b", expected and, or, or the end'],
    ['a)', '")", expected and, or, or the end'],
    ['and a', `"and", expected ${name}`],
    ['a or or b', `"or", expected ${name}`],
    ['(a', 'the end, expected ")"'],
    ['a & b', '"&", expected and, or, or the end'],
    ['& b', `"&", expected ${name}`],
    ['not', `the end, expected ${name}`],
    ['of', `"of", expected ${name}`],
    ['at', `"at", expected ${name}`],
    ['2 (a, b)', '"(", expected "of"'],
    ['2 of a', '"a", expected "("'],
    ['2 of (a, b', 'the end, expected ")"'],
    ['2 of (a,)', `")", expected ${name}`],
    ['0 of (a, b)', '"0", expected a number from 1 to 2, of which there are'],
    ['3 of (a, b)', '"3", expected a number from 1 to 2, of which there are'],
    ['a at', 'the end, expected a level: advisory, caution, warning, stop'],
    ['a at red', '"red", expected a level: advisory, caution, warning, stop'],
  ])('is refused as %j', (text, found) => {
    expect(trouble(text)).toBe(found);
  });

  it.each(['a', '(((a)))', 'not not a', '1 of (a)', '2 of (a, b)', 'a at stop or b', ' a  and\nb '])(
    'is read as %j',
    (text) => {
      expect(trouble(text)).toBe('none');
    },
  );

  it('may be nested as deep as anybody writes, and no deeper', () => {
    const nested = (depth: number) => `${'('.repeat(depth)}a${')'.repeat(depth)}`;
    expect(trouble(nested(39))).toBe('none');
    expect(trouble(nested(40))).toMatch('at most 40 brackets');
    expect(trouble(`${'not '.repeat(39)}a`)).toBe('none');
    expect(trouble(`${'not '.repeat(40)}a`)).toMatch('at most 40 brackets');
    expect(trouble('('.repeat(100_000))).toMatch('at most 40 brackets');
    // many beside one another are none inside one another
    expect(trouble(Array.from({ length: 100 }, () => '(not a)').join(' and '))).toBe('none');
  });
});
