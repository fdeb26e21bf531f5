/** How sequences.yaml is written: sequences that the aircraft shows, and checklists that people tick. */
import { z } from 'zod';
import { checklistCauses } from '../../protocol/procedure.ts';
import { condition, duration, map, parameterId, quantity, shortId, words } from './written.ts';

const step = map({
  name: words(60).describe('the step, as the room says it'),
  when: condition,
  within: duration.describe('aircraft time from the step before it, or from the beginning'),
});

const measure = map({
  title: words(80).describe('what the room reads'),
  parameter: parameterId.describe('what is measured'),
  kind: z
    .enum(['max', 'min', 'rate', 'time above', 'now'])
    .describe('highest, lowest, fastest rise a second, seconds above a value, newest value'),
  over: quantity.optional().describe('for time above: counts when greater than this'),
  'up to': quantity.optional().describe('for time above: counts up to this; default without end'),
  window: duration.optional().describe('for rate: aircraft time the slope is taken over'),
});

export const sequence = map({
  id: shortId,
  title: words(80).describe('what the room reads'),
  begins: condition.describe('it begins each time this comes true'),
  ends: condition.optional().describe('it is broken off while this is true'),
  gate: map({ text: words(120).describe('the condition in words'), when: condition })
    .optional()
    .describe('what must hold before it may begin'),
  steps: z
    .array(step)
    .min(1, 'at least one step')
    .max(40, 'at most 40 steps')
    .describe('conditions that must come true one after the other'),
  measures: z
    .array(measure)
    .max(20, 'at most 20 measures')
    .optional()
    .describe('numbers kept from its beginning to its end'),
});

export const checklist = map({
  id: shortId,
  title: words(80).describe('what the room reads'),
  shown: z.enum(checklistCauses).describe('what shows it; contact lost: voice reported lost and the stream silent'),
  when: condition.optional().describe('for condition: shown while this is true'),
  after: duration.optional().describe('for link lost and contact lost: ground time without a frame'),
  steps: z
    .array(words(200))
    .min(1, 'at least one step')
    .max(40, 'at most 40 steps')
    .describe('what is done, in this order'),
});

export const sequencesFile = map({
  sequences: z.array(sequence).optional().describe('start, run-up, pick-up, set-down and the like'),
  checklists: z.array(checklist).optional().describe('what people do when voice, link or something else is lost'),
});
