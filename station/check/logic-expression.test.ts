import { describe, expect, it } from 'vitest';
import { type LogicExpression, parseLogic } from './logic-expression.ts';
import { NO, type Truth, UNSURE, YES } from './truth.ts';

type Of = (truths: Truth[]) => Truth;

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

  describe('when it is evaluated', () => {
    const [A, B, C] = [0, 1, 2].map((slot) => (truths: Truth[]) => truths[slot] as Truth) as [Of, Of, Of];
    const least = (count: number, of: Of[]) => (truths: Truth[]) => {
      const said = of.map((one) => one(truths));
      const yes = said.filter((one) => one === YES).length;
      return yes >= count ? YES : yes + said.filter((one) => one === UNSURE).length >= count ? UNSURE : NO;
    };
    const not = (of: Of) => (truths: Truth[]) => [YES, NO, UNSURE][of(truths)] as Truth;

    it.each<[string, Of]>([
      ['a', A],
      ['not a', not(A)],
      ['a and b', least(2, [A, B])],
      ['a or b', least(1, [A, B])],
      ['a or b and c', least(1, [A, least(2, [B, C])])],
      ['(a or b) and c', least(2, [least(1, [A, B]), C])],
      ['not a and b', least(2, [not(A), B])],
      ['not (a and b)', not(least(2, [A, B]))],
      ['2 of (a, b, c)', least(2, [A, B, C])],
      ['2 of (a, not b, a and c)', least(2, [A, not(B), least(2, [A, C])])],
    ])('%s is true, false or open by what its limits say', (text, of) => {
      const { limits, evaluate } = parseLogic(text) as LogicExpression;
      for (let n = 0; n < 27; n++) {
        const truths = [n % 3, Math.floor(n / 3) % 3, Math.floor(n / 9)] as Truth[];
        const named = Uint8Array.from(limits, (id) => truths['abc'.indexOf(id)] as Truth);
        expect(evaluate({ truth: named, level: named.map(() => 1) }), `${text} of ${truths}`).toBe(of(truths));
      }
    });

    it('a limit counts from the level named, and while it is outside only', () => {
      const { evaluate } = parseLogic('a at warning') as LogicExpression;
      const said = (truth: Truth, level: number) =>
        evaluate({ truth: Uint8Array.of(truth), level: Uint8Array.of(level) });
      expect([1, 2, 3, 4].map((level) => said(YES, level))).toEqual([NO, NO, YES, YES]);
      expect([said(UNSURE, 0), said(NO, 4)]).toEqual([UNSURE, NO]);
    });

    it('a number may have several digits', () => {
      const ids = Array.from({ length: 12 }, (_, i) => `m${i}`);
      const { evaluate } = parseLogic(`11 of (${ids.join(', ')})`) as LogicExpression;
      const of = (yes: number) =>
        evaluate({ truth: Uint8Array.from(ids, (_, i) => (i < yes ? YES : NO)), level: new Uint8Array(12).fill(1) });
      expect([10, 11, 12].map(of)).toEqual([NO, YES, YES]);
    });
  });

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
