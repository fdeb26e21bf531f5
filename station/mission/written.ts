/** What the files of a mission folder are written with: names, words, times, values. */
import { z } from 'zod';
import { positions } from '../../protocol/role.ts';

/** A map with these keys and no others. The message names them, so that a misspelt one finds its neighbour. */
export function map<S extends z.ZodRawShape>(shape: S) {
  return z.strictObject(shape, {
    error: (issue) => (issue.code === 'unrecognized_keys' ? Object.keys(shape).join(', ') : undefined),
  });
}

const plainText = 'text without control characters';
/** Words for people: no control characters, which a terminal or a screen would obey. */
export const words = (most: number) =>
  z
    .string()
    .min(1, 'some text')
    .max(most, `at most ${most} characters`)
    // the first in a form that every editor's checker reads, the second whole
    .regex(/^[^\u0000-\u001f\u007f-\u009f\u200b-\u200f\u2028-\u202e]*$/, { error: plainText, abort: true })
    .refine((text) => /^\P{C}*$/u.test(text), plainText);

export const parameterId = z
  .string()
  .regex(/^[A-Za-z][A-Za-z0-9_]{0,39}$/, 'letters, digits and underscores, beginning with a letter, at most 40')
  .describe('name of a parameter, received or derived: letters, digits and underscores');
export const shortId = z
  .string()
  .regex(
    /^[A-Za-z][A-Za-z0-9_-]{0,59}$/,
    'letters, digits, hyphens and underscores, beginning with a letter, at most 60',
  )
  .describe('short name, unique among its kind');

export const duration = z
  .union([z.literal(0), z.string()], { error: 'a time with its unit, like 0.5 s' })
  .describe('time with its unit, like 0.5 s or 200 ms');
export const quantity = z
  .union([z.number(), z.string()], { error: 'a number in the unit of the parameter, or with its own, like 97 %' })
  .describe("number in the parameter's unit, or text with a unit of the same dimension");
export const position = z.enum(positions).describe('a position in the telemetry room');
/** A formula, or the name of a parameter; read by conditions.ts. */
export const condition = z
  .string({ error: 'a formula, or the name of a parameter' })
  .min(1, 'a formula, or the name of a parameter')
  .max(2000, 'at most 2000 characters')
  .describe('a parameter that is not zero, or a formula that yields 1 or 0');
