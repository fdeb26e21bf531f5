/**
 * How a limit is written. Keys that every kind has stand here; the settings of each kind come from the table of kinds
 * (protocol/limit-kinds.ts).
 */
import { z } from 'zod';
import { levels } from '../../protocol/limit.ts';
import type { Setting } from '../../protocol/limit-kind.ts';
import { type KindName, limitKinds } from '../../protocol/limit-kinds.ts';
import { condition, duration, map, parameterId, position, quantity, shortId, words } from './written.ts';

const levelValues = map({
  [levels[0]]: quantity.optional(),
  [levels[1]]: quantity.optional(),
  [levels[2]]: quantity.optional(),
  [levels[3]]: quantity.optional(),
}).describe('a value for each level it has');

const kinds = Object.keys(limitKinds) as [KindName, ...KindName[]];
const level = z.enum(levels, { error: `a level: ${levels.join(', ')}` });
const phases = z.array(shortId).min(1, 'at least one phase');

/** Keys of a limit of any kind. */
export const commonKeys = {
  id: shortId,
  kind: z.enum(kinds).optional().describe('what kind of limit it is; default level: low and high values'),
  parameter: parameterId.describe('what is watched, received or derived; or what brings the samples to look at'),
  above: levelValues.optional().describe('outside when greater'),
  below: levelValues.optional().describe('outside when less'),
  sequence: shortId
    .optional()
    .describe('for kind sequence: a sequence of sequences.yaml in place of begins, ends and steps'),
  level: level.optional().describe('for a kind that is true or not: the level when it is true'),
  'by phase': z
    .record(shortId, map({ above: levelValues.optional(), below: levelValues.optional() }))
    .optional()
    .describe('for kind by phase: above and below for each phase of flight'),
  persistence: duration.optional().describe('aircraft time the value must stay beyond; default 0, at once'),
  hysteresis: quantity.optional().describe('how far back inside it must come before the alarm clears; default 0'),
  while: parameterId.optional().describe('in force while this parameter is not zero'),
  phases: phases.optional().describe('in force in these phases of flight alone'),
  'suppress in': phases.optional().describe('phases in which its alarm is suppressed by design'),
  'cannot tell': map({ level: level.describe('level of that alarm'), after: duration })
    .optional()
    .describe('an alarm of the data family when it cannot tell for this long while it is in force'),
  'first action': words(200).describe('what the watcher says or does first'),
  watcher: position.describe('who watches it, and frees its alarm'),
  'watched actively': z
    .boolean()
    .optional()
    .describe('one of the four at most a person can watch; default: when it has a warning or a stop'),
  'stop class': z
    .union([z.literal(1), z.literal(2)], { error: 'a stop class, 1 or 2' })
    .optional()
    .describe('class of the call its stop level asks for; default 1'),
  'time to consequence': duration.optional().describe('from crossing to harm, when nobody acts'),
  'confirms automation': z
    .literal(true)
    .optional()
    .describe('the automation is the safeguard; the alarm confirms that it acts'),
  'caused by': z.array(shortId).min(1, 'at least one alarm').optional().describe('alarms that explain this one'),
  family: z.enum(['aircraft', 'data']).optional().describe('data: it says something of the data'),
  source: words(200).describe('document the values come from'),
  author: words(80).optional().describe('who wrote it'),
  approver: words(80).optional().describe('who released it'),
  text: words(120).optional().describe('what the room reads, when the name of the parameter does not say it'),
};

const list = (one: z.ZodType, least: number, most: number) =>
  z.array(one).min(least, `at least ${least}`).max(most, `at most ${most}`);

/** How a setting of one type is written. */
function shapeOf(setting: Setting): z.ZodType {
  switch (setting.type) {
    case 'parameter':
    case 'table':
    case 'boundary':
      return parameterId;
    case 'parameters':
      return list(parameterId, setting.least, setting.most);
    case 'condition':
      return condition;
    case 'steps':
      return list(
        map({ name: words(60).describe('the step, as the room says it'), when: condition, within: duration }),
        1,
        40,
      );
    case 'duration':
      return duration;
    case 'quantity':
      return quantity;
    case 'quantities':
      return list(quantity, setting.least, setting.most);
    case 'whole':
      return z
        .int()
        .min(setting.least, `from ${setting.least} to ${setting.most}`)
        .max(setting.most, `from ${setting.least} to ${setting.most}`);
    case 'choice':
      return z.enum(setting.of as [string, ...string[]]);
    case 'limit':
      return shortId;
    case 'expression':
      return words(2000);
    case 'points':
      return list(z.tuple([quantity, quantity], { error: 'two values' }), setting.least, 1000);
  }
}

/** Every setting of every kind; where kinds have one of the same name, it is judged where the kind is known. */
function settingKeys(): Record<string, z.ZodType> {
  const shapes = new Map<string, { shape: z.ZodType; types: Set<string>; told: string[] }>();
  for (const [kind, { settings }] of Object.entries(limitKinds)) {
    for (const [name, setting] of Object.entries<Setting>(settings)) {
      const { summary, ...type } = setting;
      const known = shapes.get(name);
      const told = `${kind}: ${summary}`;
      const text = JSON.stringify(type);
      if (known === undefined) shapes.set(name, { shape: shapeOf(setting), types: new Set([text]), told: [told] });
      else {
        if (!known.types.has(text)) known.shape = z.unknown();
        known.types.add(text);
        known.told.push(told);
      }
    }
  }
  return Object.fromEntries(
    [...shapes].map(([name, { shape, told }]) => [name, shape.optional().describe(told.join('; '))]),
  );
}

export const limit = map({ ...settingKeys(), ...commonKeys });

/** The setting alone, to judge what is written for one kind where kinds differ. */
export const settingShape = shapeOf;
