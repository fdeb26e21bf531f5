/** How maintenance.yaml is written. */
import { z } from 'zod';
import { duration, map, parameterId, quantity, shortId, words } from './written.ts';

const band = map({
  value: quantity.describe('the value that is passed, in the unit of the parameter or with its own'),
  for: duration.optional().describe('at least this long in one go; left out, and no `in all`: at all'),
  'in all': duration.optional().describe('at least this long over the flight, in place of `for`'),
  action: words(200).describe('what is to be looked at or done'),
});

const bands = z
  .array(band)
  .min(1, 'at least one band')
  .max(20, 'at most 20 bands')
  .describe('from the mildest: nearest value first, then the shortest time');

export const maintenanceRow = map({
  id: shortId,
  text: words(120).describe('what happened to the aircraft, in words'),
  parameter: parameterId,
  above: bands.optional(),
  below: bands.optional(),
  phases: z
    .array(shortId)
    .min(1, 'at least one phase')
    .max(40, 'at most 40')
    .optional()
    .describe('counts in these phases alone, and while the phase cannot be told; left out = in all'),
  source: words(200).describe('document the bands come from'),
});

export const maintenanceFile = map({
  maintenance: z.array(maintenanceRow).describe('what an exceedance asks to be looked at'),
});
