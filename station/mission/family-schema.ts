/** How the families and anomalies of cards.yaml are written. */
import { z } from 'zod';
import { statisticNames } from '../../protocol/card.ts';
import { map, parameterId, quantity, shortId, words } from './written.ts';

const measure = map({
  id: shortId.describe('unique in the family'),
  title: words(80).describe('what the room calls it'),
  parameter: parameterId,
  statistic: z
    .enum(statisticNames)
    .describe('of the record of a point; a slope is in the unit of the parameter a second'),
  side: z.enum(['above', 'below']).describe('the side on which the caution is'),
  caution: quantity.optional().describe('what the band of a prediction must not touch'),
  limit: shortId.optional().describe('instead of caution: the limit whose caution level that is, as it is in force'),
  scatter: quantity.describe('expected of one record, to either side; the band is never taken narrower'),
});

const flownStep = map({
  step: quantity.describe('in the unit of the family or with its own'),
  source: words(80).describe('which flight and point'),
  values: z.record(shortId, quantity).describe('by id of the measure, in the unit of its parameter or with their own'),
});

export const family = map({
  id: shortId.describe('what points name it by'),
  title: words(80).describe('what the room calls it'),
  of: words(60).describe('the one thing in which its points differ'),
  unit: words(40).describe('unit of that'),
  increment: quantity.describe('smaller steps are offered in multiples of this'),
  reserve: z
    .array(quantity)
    .max(40, 'at most 40 steps')
    .optional()
    .describe('steps that are flown only when the gate offers less than the next one'),
  measures: z.array(measure).min(1, 'at least one measure').max(12, 'at most 12 measures').describe('what is followed'),
  flown: z.array(flownStep).max(200, 'at most 200 steps').optional().describe('in earlier flights, in the order flown'),
});

export const anomaly = map({
  text: words(200).describe('what was seen'),
  source: words(80).describe('which flight and point'),
});

/** What stands in cards.yaml beside the cards. */
export const familyKeys = {
  families: z.array(family).optional().describe('points of one configuration that build up step by step'),
  anomalies: z.array(anomaly).optional().describe('of earlier flights, still open: no step is cleared while one is'),
};
