/**
 * The shape of each file of a mission folder, once: the loader checks with it, and the JSON Schema that editors use is
 * made from it. Keys are written as a person says them; load.ts maps them to the shapes of protocol/.
 */
import { z } from 'zod';
import { type CountFormat, codings, formatBytes } from '../../protocol/parameter.ts';
import { isoMicroseconds, isTime } from '../../protocol/time.ts';
import { cardKeys } from './card-schema.ts';
import { familyKeys } from './family-schema.ts';
import { hazardsFile } from './hazards-schema.ts';
import { checkKeys } from './checks-schema.ts';
import { limit } from './limit-schema.ts';
import { readinessKeys } from './readiness-schema.ts';
import { maintenanceFile } from './maintenance-schema.ts';
import { sequencesFile } from './sequences-schema.ts';
import { condition, duration, map, parameterId, position, quantity, shortId, words } from './written.ts';

const unit = words(40).describe('unit of the value; "1" for a pure number or a discrete');
const range = z.tuple([quantity, quantity], { error: 'two values, [lowest, highest]' });
const decimals = z.int().min(0, 'from 0 to 9').max(9, 'from 0 to 9').describe('decimals a person wants to see');
const states = z
  .record(z.string().regex(/^-?\d{1,10}$/, 'a whole number as key'), words(40))
  .describe('name of each value: {0: ground, 1: air}');

const person = map({
  id: shortId.describe('short and unique; what the flight log carries'),
  name: words(80).describe('as the room knows the person'),
  position: position.describe('the position the person holds on the day'),
});

export const missionFile = map({
  name: words(120).describe('what the displays and the recording call the flight mission'),
  stream: words(60).describe('stream id that the frames must carry'),
  aircraft: map({
    name: words(80).describe('type and tail, as the room says it'),
    'software id': words(80).describe('compared with the one in the stream'),
    'configuration id': words(80).describe('compared with the one in the stream'),
    'termination system': z
      .boolean({ error: 'true or false' })
      .optional()
      .describe('it can be destroyed or disabled by command; only where this is false may TERMINATE be a word of ours'),
  }).describe('the aircraft, and the ids it must send'),
  receivers: z
    .array(
      map({
        name: words(60).describe('as the receiver envelope spells it'),
        input: words(200).optional().describe('beside stream.yaml: the address whose messages are of this receiver'),
      }),
    )
    .describe('where the telemetry is received'),
  people: z.array(person).describe('who may sign in, and as what'),
  'may call class 2': z
    .array(position)
    .optional()
    .describe('positions briefed to call class 2 directly; others go through the test conductor'),
  words: map({
    'class 1': z.array(words(60)).min(1, 'at least one briefed word').describe('break off: safety or doubt'),
    'class 2': z.array(words(60)).min(1, 'at least one briefed word').describe('stop this point'),
    start: z
      .array(words(60))
      .min(1, 'at least one briefed word')
      .optional()
      .describe('the call of the start phase, as severe as class 1'),
    'start phases': z
      .array(shortId)
      .min(1, 'at least one phase')
      .optional()
      .describe('phases of phases.yaml in which the call is that of the start; default the phase named start'),
    range: z.array(words(60)).optional().describe('words of the range: never offered, and briefed for nothing else'),
  }).describe('words briefed for the day; the first of each class is the one the control offers'),
});

export const rateGroup = map({
  id: shortId,
  rate: z
    .union([z.number().min(0.001).max(100_000), z.literal('none')], {
      error: 'samples a second from 0.001 to 100000, or none',
    })
    .describe('samples a second; none = every sample carries its own time'),
  'stale after': duration.optional().describe('ground time without a sample; default 3 periods, at least 0.5 s'),
});

const bit = z.int().min(0, 'from 0 to 31').max(31, 'from 0 to 31');
const wholeWord = 2 ** 32 - 1;
const bits = map({
  word: parameterId.optional().describe('the parameter whose counts hold the bits; absent = its own counts'),
  shift: bit.optional().describe('number of the lowest bit, 0 being the lowest of the word; default 0'),
  width: z.int().min(1, 'from 1 to 32').max(32, 'from 1 to 32').optional().describe('how many bits'),
  mask: z
    .int()
    .min(1, 'from 1 to 0xFFFFFFFF')
    .max(wholeWord, 'from 1 to 0xFFFFFFFF')
    .optional()
    .describe('instead of shift and width: the bits of the word that count; the number begins at its lowest bit'),
  coding: z.enum(codings).optional().describe('how the bits are read as a number; default unsigned'),
  states: states.optional(),
});

const aDay = 'a day of the calendar, like 2026-10-01';
/** Whether a day written as ISO 8601 does exists. */
function isDay(text: string): boolean {
  const day = new Date(`${text}T00:00:00Z`);
  return !Number.isNaN(day.getTime()) && day.toISOString().startsWith(text);
}

const calibration = map({
  bits: bits.optional().describe('the counts are some bits of a word; alone, or before one of the others'),
  polynomial: z
    .array(z.number())
    .min(1, 'one to six coefficients')
    .max(6, 'one to six coefficients')
    .optional()
    .describe('c0, c1, ...: value = c0 + c1 x + c2 x^2 + ..., x = counts'),
  table: z
    .array(z.tuple([z.number(), z.number()], { error: 'a point, [counts, value]' }))
    .min(2, 'at least two points')
    .max(4096, 'at most 4096 points')
    .optional()
    .describe('points [counts, value], counts rising'),
  'between points': z
    .enum(['straight lines', 'monotone cubic'])
    .optional()
    .describe('how a table goes from point to point; default straight lines. The cubic never leaves the two values'),
  states: states.optional(),
  from: z.number().optional().describe('lowest calibrated counts of a polynomial'),
  to: z.number().optional().describe('highest calibrated counts of a polynomial'),
  source: words(200).optional().describe('where the calibration comes from; needed where a limit watches the value'),
  date: z
    .string()
    .regex(/^\d{4}-\d{2}-\d{2}$/, { error: aDay, abort: true })
    .refine(isDay, { error: aDay })
    .optional()
    .describe('day it was made, YYYY-MM-DD; needed where a limit watches the value'),
}).describe('polynomial, table or states; bits alone or before one of them');

const plausible = map({
  while: parameterId.optional().describe('a value is implausible while this parameter, received or derived, is zero'),
  fastest: quantity.optional().describe('largest change a second, in the unit of the parameter or with its own'),
});

const description = words(500).optional().describe('what a person should know of it, in a sentence or two');

export const parameter = map({
  id: parameterId,
  name: words(120).describe('the measurand in words'),
  description,
  unit,
  group: shortId.describe('its rate group'),
  format: z
    .enum(Object.keys(formatBytes) as [CountFormat, ...CountFormat[]])
    .optional()
    .describe('format on the wire; absent for bits out of the word of another parameter'),
  calibration: calibration.optional().describe('from counts to the unit; absent = the counts are the value'),
  range: range.optional().describe('values outside are not physical'),
  'frozen after': z
    .int()
    .min(2, 'at least 2')
    .max(1_000_000, 'at most 1000000')
    .optional()
    .describe('identical counts this many times in a row, where noise is normal'),
  plausible: plausible.optional().describe('what else must hold for a value to be believed'),
  decimals: decimals.optional(),
});

export const parametersFile = map({
  groups: z.array(rateGroup).describe('parameters that are sampled together'),
  parameters: z.array(parameter).describe('received parameters, in each group in the order on the wire'),
});

export const derived = map({
  id: parameterId,
  name: words(120).describe('what it is in words'),
  description,
  unit,
  'driven by': shortId.describe('parameter or rate group: one value is computed for each of its samples'),
  formula: z.string().min(1, 'a formula').max(2000, 'at most 2000 characters').describe('see README.md, Formulas'),
  decimals: decimals.optional(),
  states: states.optional(),
});

export const derivedFile = map({ derived: z.array(derived).describe('parameters computed from others') });

const axis = map({
  name: words(80).describe('what is looked up along it'),
  unit: words(40).describe('unit of its points'),
  at: z.array(z.number()).min(2, 'at least two points').max(1000, 'at most 1000 points').describe('points, rising'),
});

export const table = map({
  id: parameterId.describe('name of the table in formulas'),
  name: words(120).describe('what it is in words'),
  unit: words(40).describe('unit of the values'),
  axes: z.array(axis).min(1, 'one or two axes').max(2, 'one or two axes').describe('what the values depend on'),
  values: z
    .union([z.array(z.number()), z.array(z.array(z.number()))], { error: 'a list of numbers, or a list of such lists' })
    .describe('one for each point; with two axes one list for each point of the first axis'),
  outside: z
    .enum(['no value', 'edge'])
    .optional()
    .describe('beyond the first and last points: no value (default), or the value at the edge'),
  source: words(200).optional().describe('where the values come from'),
  date: words(40).optional().describe('when they were made'),
});

export const boundary = map({
  id: parameterId.describe('name of the boundary in formulas'),
  name: words(120).describe('what it is in words'),
  keep: z.enum(['inside', 'outside']).describe('the side to keep to'),
  points: z
    .array(z.tuple([z.number(), z.number()], { error: 'a corner, [latitude, longitude] in degrees' }))
    .min(3, 'at least three corners')
    .max(500, 'at most 500 corners')
    .describe('corners in order, [latitude, longitude] in degrees, WGS 84; the last one is joined to the first'),
  source: words(200).optional().describe('where the corners come from'),
});

export const tablesFile = map({
  tables: z.array(table).optional().describe('values that formulas look up'),
  boundaries: z.array(boundary).optional().describe('areas on the ground to keep inside or outside of'),
});

const transition = map({
  to: shortId.describe('the phase it leads to'),
  when: condition,
  for: duration.optional().describe('aircraft time the condition must hold first; default 0, at once'),
});

export const phase = map({
  id: shortId.describe('what limits name it by'),
  name: words(40).describe('what the room reads, and formulas compare with'),
  critical: z.boolean().optional().describe('messages that are not urgent wait while it lasts; default false'),
  then: z.array(transition).optional().describe('tried in this order at each sample; absent = the phase never ends'),
});

export const phasesFile = map({
  parameter: parameterId.describe('the derived parameter that holds the phase'),
  name: words(120).optional().describe('what that parameter is in words; default Phase of flight'),
  description,
  'driven by': shortId
    .optional()
    .describe('parameter or rate group at whose samples it is decided; default the fastest group its conditions name'),
  hold: duration
    .optional()
    .describe('aircraft time a phase is believed while a condition that could end it cannot be told; default 5 s'),
  phases: z.array(phase).min(1, 'at least one phase').describe('the first one is that before the first sample'),
});

export const limitsFile = map({ limits: z.array(limit).describe('what is watched') });

export const cardsFile = map({ ...cardKeys, ...familyKeys });

const share = z.number().positive('above 0').max(1, 'at most 1');
const element = map({
  kind: z
    .enum(['strip chart', 'tape', 'dial', 'number', 'attitude', 'states'])
    .describe('what draws it; states takes discretes, attitude takes pitch, roll, heading'),
  title: words(80).optional().describe('heading; default the names of its parameters'),
  parameters: z
    .array(parameterId)
    .min(1, 'at least one parameter')
    .max(12, 'at most 12 parameters')
    .describe('what it shows, in this order'),
  range: z
    .tuple([z.number(), z.number()], { error: 'two numbers, [low end, high end]' })
    .optional()
    .describe('ends of the scale; default the physical range'),
  span: duration.optional().describe('time across a strip chart; default 60 s'),
  width: share.optional().describe('share of the row; default 1'),
});

export const page = map({
  id: shortId,
  title: words(80).describe('what the tab of the page says'),
  positions: z.array(position).optional().describe('positions it is meant for; absent = all'),
  rows: z
    .array(
      map({
        height: share.describe('share of the page height'),
        elements: z
          .array(element)
          .min(1, 'at least one element')
          .max(24, 'at most 24 elements')
          .describe('from left to right'),
      }),
    )
    .min(1, 'at least one row')
    .max(24, 'at most 24 rows')
    .describe('from top to bottom'),
});

export const pagesFile = map({ pages: z.array(page).describe('what the displays show') });

const fieldPath = words(400).describe('path of a field: rotor.nr, engines[1].n1, levels["fuel fwd"], samples[].accel');
const timeUnit = z.enum(['s', 'ms', 'us', 'ns']).optional().describe('unit of the number; none for a Timestamp');
const instant = z
  .string()
  .refine((text) => isTime(isoMicroseconds(text)), 'an instant like 2026-11-25T10:00:00Z')
  .optional()
  .describe('for power-up: the instant of power-up');
const fields = z.record(parameterId, fieldPath);

export const streamTime = map({
  field: fieldPath,
  unit: timeUnit,
  from: z.enum(['unix', 'power-up']).optional().describe('what the number counts from; absent = unix'),
  epoch: instant,
});

export const sampleTime = map({
  field: fieldPath,
  unit: timeUnit,
  from: z.enum(['unix', 'power-up', 'message']).optional().describe('absent = like the time of the message'),
  epoch: instant,
});

export const streamFile = map({
  proto: words(200).describe('a .proto file of this folder; what it imports is in this folder too'),
  message: words(400).describe('full name of the message that travels'),
  time: streamTime.describe('time of the message'),
  sequence: map({
    field: fieldPath,
    'wraps after': z.int().min(1).optional().describe('the count after which it begins again at 0'),
  })
    .optional()
    .describe('counts the messages; without it gaps and doubles cannot be told'),
  'must equal': map({
    field: fieldPath,
    value: z.union([z.string(), z.number(), z.boolean()]).describe('what must stand there'),
  })
    .optional()
    .describe('messages with another value here are of another stream'),
  'software id': fieldPath.optional(),
  'configuration id': fieldPath.optional(),
  fields: fields.describe('the field of each parameter'),
  'more fields': z.array(fields).optional().describe('more of the same, where one map would be too long'),
  times: z.record(shortId, sampleTime).optional().describe('times that the samples of a rate group bring'),
});

export const readinessFile = map({ ...readinessKeys, ...checkKeys });

/** Every file of a mission folder. A file that may be missing counts as an empty list. */
export const files = {
  'mission.yaml': { schema: missionFile, needed: true },
  'parameters.yaml': { schema: parametersFile, needed: true },
  'stream.yaml': { schema: streamFile, needed: false },
  'derived.yaml': { schema: derivedFile, needed: false },
  'tables.yaml': { schema: tablesFile, needed: false },
  'phases.yaml': { schema: phasesFile, needed: false },
  'limits.yaml': { schema: limitsFile, needed: true },
  'cards.yaml': { schema: cardsFile, needed: false },
  'sequences.yaml': { schema: sequencesFile, needed: false },
  'readiness.yaml': { schema: readinessFile, needed: false },
  'hazards.yaml': { schema: hazardsFile, needed: false },
  'maintenance.yaml': { schema: maintenanceFile, needed: false },
  'pages.yaml': { schema: pagesFile, needed: false },
} as const;

export type FileName = keyof typeof files;
export const fileNames = Object.keys(files) as FileName[];

/** JSON Schema of one file, for editors. */
export function jsonSchema(name: FileName): object {
  return z.toJSONSchema(files[name].schema, { io: 'input' });
}
