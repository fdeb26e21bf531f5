/** Functions that go by those of their arguments that are usable. */
import { countOf, mean, median, miscompare, miscompareAngle, spread } from '../../compute/vote.ts';
import { arg, type FormulaFunction, made, repeated, same } from '../function.ts';

const x = arg('x', 'x');
const voting = 'mid-value selection, as in NASA TM-100007 (1987)';

export const votes: readonly FormulaFunction[] = [
  repeated(
    made(
      'median',
      [x],
      same,
      { kind: 'vote', of: median, least: 1 },
      {
        summary: 'middle one of those that are usable; the mean of the two in the middle when their number is even',
        source: voting,
      },
    ),
  ),
  repeated(made('mean', [x], same, { kind: 'vote', of: mean, least: 1 }, { summary: 'mean of those that are usable' })),
  repeated(
    made(
      'spread',
      [arg('x', 'dx'), arg('x', 'dx')],
      same,
      { kind: 'vote', of: spread, least: 2 },
      {
        summary: 'highest less lowest of those that are usable, at least two',
      },
    ),
  ),
  repeated(
    made(
      'count_usable',
      [arg('x', 'any')],
      '1',
      { kind: 'vote', of: countOf, least: 0 },
      {
        summary: 'how many are usable; always a number',
      },
    ),
  ),
  repeated(
    made(
      'miscompare',
      [arg('channel', 'dx'), arg('other', 'dx')],
      same,
      { kind: 'vote', of: miscompare, least: 2, first: true },
      {
        summary: 'a channel less the median of all that are usable, itself among them',
        detail: 'not usable where the channel, or every other one, is not; of two, half their difference',
        source: voting,
      },
    ),
  ),
  repeated(
    made(
      'miscompare_angle',
      [arg('channel', 'deg'), arg('other', 'deg')],
      'deg',
      { kind: 'vote', of: miscompareAngle, least: 2, first: true },
      {
        summary: 'the same for directions: 359 and 1 deg are 2 deg apart',
        detail: 'as miscompare; the channels lie within 180 deg of the first',
        source: voting,
      },
    ),
  ),
];
