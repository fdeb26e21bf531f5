/** How cards.yaml is written. */
import { z } from 'zod';
import { statisticNames } from '../../protocol/card.ts';
import { condition, duration, map, parameterId, quantity, shortId, words } from './written.ts';

export const band = map({
  parameter: parameterId,
  target: quantity,
  within: quantity.optional().describe('how far from the target it may be, to either side'),
  below: quantity.optional().describe('instead of within: how far below the target it may be'),
  above: quantity.optional().describe('instead of within: how far above the target it may be'),
});

const bands = z.array(band).min(1, 'at least one band').max(24, 'at most 24 bands');

const prediction = map({
  parameter: parameterId,
  statistic: z.enum(statisticNames).describe('of the record; a slope is in the unit of the parameter a second'),
  value: quantity,
  scatter: quantity.describe('expected, to either side'),
});

export const testPoint = map({
  id: shortId.describe('unique among the points of all cards'),
  title: words(80).describe('what the room calls it'),
  parent: shortId.optional().describe('the point it builds up from, which must be good before; absent = the first one'),
  family: shortId.optional().describe('the family it is a step of'),
  step: quantity.optional().describe('its place in the family, in the unit of that or with its own'),
  configuration: z
    .array(map({ text: words(80).describe('as the card says it'), when: condition }))
    .max(12, 'at most 12 settings')
    .optional()
    .describe('what the aircraft is set to, before and during the record'),
  tolerance: bands.describe('on condition when all of them hold for the dwell'),
  dwell: duration.describe('aircraft time that they must hold first'),
  data: bands.describe('what must stay inside during the record'),
  'may be outside': quantity
    .optional()
    .describe('share of the record that a data band may be outside, like 5 %; default 0'),
  hold: duration.describe('aircraft time of record that is wanted'),
  manoeuvre: words(400).describe('how it is flown'),
  'record from': z
    .enum(['on condition', 'manoeuvre'])
    .optional()
    .describe('the gate that begins the record; default on condition, as for a steady point'),
  recover: words(200).describe('the state to go back to'),
  stops: z
    .array(shortId)
    .min(1, 'at least one limit')
    .max(40, 'at most 40')
    .describe('limits that are its stop criteria'),
  required: z
    .array(parameterId)
    .min(1, 'at least one parameter')
    .max(40, 'at most 40 parameters')
    .describe('parameters without which the record is worth nothing'),
  dropout: duration.optional().describe('aircraft time that a required parameter may lack in all; default 0'),
  repeat: words(200).describe('when it is flown again'),
  predicted: z.array(prediction).max(40, 'at most 40').optional().describe('what the record is expected to show'),
});

export const card = map({
  id: shortId,
  title: words(80).describe('what the room calls it'),
  points: z.array(testPoint).min(1, 'at least one point').max(200, 'at most 200 points').describe('in the order flown'),
});

/** The cards alone: what follows from step to step stands in the same file. */
export const cardKeys = { cards: z.array(card).optional().describe('test cards, each with its points') };
