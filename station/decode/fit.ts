/** Which field of a message fits which column: kinds against formats, lists against rate groups. */
import type { CountFormat } from '../../protocol/parameter.ts';
import { isWide } from './extract.ts';
import { article, type FieldPath, type LeafKind } from './path.ts';

const whole: Partial<Record<LeafKind, CountFormat>> = {
  int32: 'i32',
  sint32: 'i32',
  sfixed32: 'i32',
  uint32: 'u32',
  fixed32: 'u32',
  enum: 'i32',
  bool: 'u8',
};

/**
 * The narrowest format that holds every value of the kind, and "not there" where that may happen (as NaN, so in a
 * floating format). Undefined when the kind is no number. 64-bit integers become doubles: exact up to 2^53, and NaN
 * beyond.
 */
export function defaultFormat(kind: LeafKind, mayMiss: boolean): CountFormat | undefined {
  if (kind === 'float') return 'f32';
  if (kind === 'double' || isWide(kind)) return 'f64';
  const format = whole[kind];
  return format !== undefined && mayMiss ? 'f64' : format;
}

const always: Partial<Record<LeafKind, readonly CountFormat[]>> = {
  bool: ['u8', 'i8', 'u16', 'i16', 'u32', 'i32', 'f32', 'f64'],
  float: ['f32', 'f64'],
  double: ['f64'],
};

/** What keeps a format from holding all that the field may say. */
export function formatTrouble(format: CountFormat, kind: LeafKind, mayMiss: boolean) {
  const narrowest = whole[kind];
  let fitting = always[kind] ?? (narrowest ? [narrowest, 'f64'] : ['f64']);
  if (mayMiss) fitting = fitting.filter((one) => one.startsWith('f'));
  if (fitting.includes(format)) return undefined;
  const missing = mayMiss ? ' that may be absent while others of its group are there' : '';
  const alone = mayMiss ? ', or a rate group of its own' : '';
  return {
    found: `format ${format} for ${article(kind)}${missing}`,
    expected: `${fitting.join(' or ')}, or no format${alone}`,
  };
}

/** Whether the field may be absent from a sample in which another of its group is there. */
export const mayMiss = (path: FieldPath, group: readonly FieldPath[]): boolean =>
  group.some((other) => path.absentAt.some((prefix) => !other.absentAt.includes(prefix)));

/** A rate group is fed once a message, or from the elements of one list. */
export function fitTrouble(path: FieldPath, first: FieldPath): { found: string; expected: string } | undefined {
  if (path.list === first.list) return undefined;
  const where = (one: FieldPath) => (one.list === '' ? 'once a message' : `from ${one.list}`);
  return { found: `${path.text}, ${where(path)}`, expected: `${where(first)}, like the rest of its rate group` };
}
