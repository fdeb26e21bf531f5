/** What the schema says of a file, as findings; and of each item, the part that may be looked at further. */
import type { z } from 'zod';
import { nearestName } from '../../protocol/finding.ts';
import { type Path, type Source, shown } from './source.ts';

/** One entry of a list: what of it has the right shape. An item that is not whole never reaches the mission. */
export interface Item<T> {
  value: Partial<T>;
  whole: boolean;
  path: Path;
  /** keys whose value has the wrong shape */
  faulty: ReadonlySet<string>;
}

/** Adds a finding for everything of the wrong shape in the file. */
export function checkShape(source: Source, schema: z.ZodType) {
  if (source.data === undefined) return;
  const result = schema.safeParse(source.data);
  if (!result.success) for (const issue of result.error.issues) addIssue(source, issue);
}

/** The same for the part of the file that `path` leads to; true when it has the right shape. */
export function checkPart(source: Source, path: Path, part: unknown, schema: z.ZodType): boolean {
  const result = schema.safeParse(part);
  if (result.success) return true;
  for (const issue of result.error.issues) addIssue(source, { ...issue, path: [...path, ...issue.path] });
  return false;
}

/** The entries of the list under `key`, each with what of it can be used. */
export function items<T>(source: Source | undefined, key: string, schema: z.ZodType<T>): Item<T>[] {
  const list = (source?.data as Record<string, unknown> | undefined)?.[key];
  if (!Array.isArray(list)) return [];
  return list.map((entry, i) => item(entry, [key, i], schema));
}

/** One map, or what of it can be used. */
export function item<T>(entry: unknown, path: Path, schema: z.ZodType<T>): Item<T> {
  const result = schema.safeParse(entry);
  if (result.success) return { value: result.data as Partial<T>, whole: true, path, faulty: new Set() };
  const faulty = new Set<string>();
  for (const issue of result.error.issues)
    if (issue.code === 'unrecognized_keys' && issue.path.length === 0) for (const key of issue.keys) faulty.add(key);
    else faulty.add(String(issue.path[0] ?? ''));
  const isMap = typeof entry === 'object' && entry !== null && !Array.isArray(entry);
  const kept = isMap ? Object.entries(entry).filter(([key]) => !faulty.has(key)) : [];
  return { value: Object.fromEntries(kept) as Partial<T>, whole: false, path, faulty };
}

function addIssue(source: Source, issue: z.core.$ZodIssue) {
  const path = issue.path.map((step) => (typeof step === 'number' ? step : String(step)));
  if (issue.code === 'unrecognized_keys') {
    for (const key of issue.keys) {
      const near = nearestName(key, issue.message.split(', '));
      source.addAtKey('wrong-shape', [...path, key], shown(key), `one of ${issue.message}`, meant(near));
    }
    return;
  }
  const value = path.reduce<unknown>((at, step) => (at as Record<string, unknown> | undefined)?.[step], source.data);
  const expected = expectation(issue);
  if (value === undefined && path.length > 0) {
    source.add('wrong-shape', path, `no ${path.at(-1)}`, `${path.at(-1)}: ${expected}`);
    return;
  }
  const isBad = ['too_small', 'too_big', 'invalid_format', 'not_multiple_of', 'custom'].includes(issue.code);
  source.add(isBad ? 'bad-value' : 'wrong-shape', path, shown(value), expected, hint(issue, value));
}

const typeNames: Record<string, string> = {
  string: 'text',
  number: 'a number',
  int: 'a whole number',
  array: 'a list',
  object: 'a map',
  record: 'a map',
  tuple: 'a list',
};

function expectation(issue: z.core.$ZodIssue): string {
  if (issue.code === 'invalid_value')
    return issue.values.length === 1 ? String(issue.values[0]) : `one of ${issue.values.map(String).join(', ')}`;
  // a message of ours takes the place of the library's own, which begins like this
  const isOurs = !/^(Invalid|Too|Unrecognized|Expected)\b/.test(issue.message);
  if (issue.code === 'invalid_type' && !isOurs) return typeNames[issue.expected] ?? issue.expected;
  if (issue.code === 'too_small' && !isOurs) return `${issue.inclusive ? 'at least' : 'more than'} ${issue.minimum}`;
  if (issue.code === 'too_big' && !isOurs) return `${issue.inclusive ? 'at most' : 'less than'} ${issue.maximum}`;
  if (issue.code === 'invalid_key') return issue.issues[0]?.message ?? 'another key';
  return issue.message;
}

function hint(issue: z.core.$ZodIssue, value: unknown): string | undefined {
  if (issue.code === 'invalid_value' && typeof value === 'string')
    return meant(nearestName(value, issue.values.map(String)));
  const isPlain = typeof value === 'number' || typeof value === 'boolean';
  if (issue.code === 'invalid_type' && issue.expected === 'string' && isPlain) return `write it in quotes: "${value}"`;
  return undefined;
}

/** The hint for a misspelt name. */
export const meant = (near: string | undefined): string | undefined =>
  near === undefined ? undefined : `did you mean ${near}?`;
