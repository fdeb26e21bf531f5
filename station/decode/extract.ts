/**
 * Field paths to code: for a message as protobufjs decodes it, functions that read one field, and for each rate group one
 * that looks through the samples and one that writes them into the raw columns. The code is made once a mission, so that
 * a sample costs a few property reads and no object.
 */
import type { RawGroup } from '../../protocol/raw.ts';
import type { TimeUnit } from '../../protocol/stream-mapping.ts';
import { isTime } from '../../protocol/time.ts';
import { caps } from '../../protocol/wire.ts';
import type { FieldPath, LeafKind, Step } from './path.ts';

/** A decoded message of another make. */
export type Message = object;

/** Earliest and latest sample of a message, microseconds. */
export const Span = { first: 0, last: 1 } as const;

export interface GroupReader {
  /**
   * Samples of the group in the message, -1 when their times make no sense. `base` = time of the message; widens `span`.
   */
  scan(message: Message, base: number, span: Float64Array): number;
  /** Adds the samples to the columns. */
  append(message: Message, base: number, raw: RawGroup): void;
}

export interface SampleTime {
  path: FieldPath;
  unit: TimeUnit;
  /** aircraft time of a zero; absent = the time of the message */
  origin?: number;
}

export interface GroupPlan {
  /** one path for each column, in wire order */
  columns: FieldPath[];
  /** microseconds between samples of a list; 0 = each brings its time */
  period: number;
  time?: SampleTime;
}

const wide: ReadonlySet<LeafKind> = new Set(['int64', 'sint64', 'sfixed64', 'uint64', 'fixed64']);

export const isWide = (kind: LeafKind): boolean => wide.has(kind);

const own = (object: unknown, key: string): unknown =>
  object !== null && object !== undefined && Object.hasOwn(object, key)
    ? (object as Record<string, unknown>)[key]
    : undefined;

/** What the generated code calls. */
const support = {
  own,
  isTime,
  cap: caps.samples,
  /** a 64-bit integer that a double does not hold exactly is no number */
  exact: (value: unknown): unknown => (typeof value === 'bigint' ? Number.NaN : value),
  micros: microseconds,
  stamp: (value: { seconds?: number; nanos?: number }): number =>
    Number(support.exact(value.seconds)) * 1e6 + Math.round((value.nanos as number) / 1000),
};

const perUnit = { s: 1e6, ms: 1e3, us: 1 };

/** A time of any unit in whole microseconds; NaN when it is none. */
export function microseconds(value: unknown, unit: TimeUnit): number {
  // nanoseconds since 1970 are beyond 2^53
  if (typeof value === 'bigint') return unit === 'ns' ? Number((value + 500n) / 1000n) : Number.NaN;
  return Math.round(unit === 'ns' ? (value as number) / 1000 : (value as number) * perUnit[unit]);
}

/** An expression that reads what the steps lead to from `root`; undefined (or null) where something is not there. */
function reading(steps: readonly Step[], root: string): string {
  let code = root;
  for (let i = 0; i < steps.length; i++) {
    const step = steps[i] as Step;
    if (step.kind === 'field') {
      const name = JSON.stringify(step.name);
      const isLast = i === steps.length - 1;
      // the root itself is always there
      code = step.tracked && isLast ? `own(${code}, ${name})` : `${code}${i === 0 ? '' : '?.'}[${name}]`;
    } else if (step.kind === 'element') code = `${code}?.[${step.index}]`;
    else if (step.kind === 'entry') code = `own(${code}, ${JSON.stringify(step.key)})`;
  }
  return code;
}

function numeric(path: FieldPath, code: string): string {
  if (path.leaf === 'bool') return `+${code}`;
  return isWide(path.leaf) ? `exact(${code})` : code;
}

function generated<T>(body: string): T {
  const names = Object.keys(support);
  return new Function(...names, `"use strict"; ${body}`)(...Object.values(support)) as T;
}

/** Reads one field as it stands in the message: number, text, truth or bigint; undefined when it is not there. */
export function fieldReader(path: FieldPath): (message: Message) => unknown {
  return generated(`return (m) => ${reading(path.steps, 'm')};`);
}

/** Reads a time in microseconds from its own zero; NaN when it is not there or none. */
export function timeReader(path: FieldPath, unit: TimeUnit): (message: Message) => number {
  return generated(
    `return (m) => { const t = ${reading(path.steps, 'm')}; return t == null ? NaN : ${timed(path, unit, 't')}; };`,
  );
}

const timed = (path: FieldPath, unit: TimeUnit, code: string): string =>
  path.leaf === 'timestamp' ? `stamp(${code})` : `micros(${code}, "${unit}")`;

export function groupReader(plan: GroupPlan): GroupReader {
  const first = plan.columns[0] as FieldPath;
  return generated(first.every < 0 ? onceCode(plan) : listCode(plan));
}

const originOf = (time: SampleTime): string => (time.origin === undefined ? 'base' : String(time.origin));

/** Time of the message's own sample, or of the first of a list: its own field, else the time of the message. */
function leadTime({ time }: GroupPlan, absent: string): string {
  if (!time || time.path.every >= 0) return 'const t = base;';
  return `const t0 = ${reading(time.path.steps, 'm')};
    if (t0 == null) return ${absent};
    const t = ${originOf(time)} + ${timed(time.path, time.unit, 't0')};`;
}

/** Whether any column has a value; '' when one always has. */
function presence(columns: readonly FieldPath[], expressions: readonly string[]): string {
  if (columns.some(({ absentAt }) => absentAt.length === 0)) return '';
  return expressions.map((code) => `${code} === undefined`).join(' && ');
}

function onceCode(plan: GroupPlan): string {
  const reads = plan.columns.map((path) => reading(path.steps, 'm'));
  const lacking = presence(plan.columns, reads);
  const writes = plan.columns.map((path, k) => `c[${k}][n] = ${numeric(path, reads[k] as string)};`);
  return `return {
    scan(m, base, span) {
      ${lacking && `if (${lacking}) return 0;`}
      ${leadTime(plan, '0')}
      if (!isTime(t)) return -1;
      if (t < span[0]) span[0] = t;
      if (t > span[1]) span[1] = t;
      return 1;
    },
    append(m, base, raw) {
      ${leadTime(plan, 'undefined')}
      raw.reserve(1);
      const n = raw.length, c = raw.counts;
      raw.time[n] = t;
      ${writes.join('\n      ')}
      raw.length = n + 1;
    },
  };`;
}

function listCode(plan: GroupPlan): string {
  const first = plan.columns[0] as FieldPath;
  const list = reading(first.steps.slice(0, first.every), 'm');
  const inElement = (path: FieldPath) => reading(path.steps.slice(path.every + 1), 'x');
  const reads = plan.columns.map(inElement);
  const lacking = presence(plan.columns, reads);
  const own = plan.time && plan.time.path.every >= 0 ? plan.time : undefined;
  const ownTime = own
    ? `const t0 = ${inElement(own.path)};
        if (t0 == null) continue;
        const t = ${originOf(own)} + ${timed(own.path, own.unit, 't0')};`
    : `const t = lead + Math.round(i * ${plan.period});`;
  const lead = own ? '' : leadTime(plan, '0').replace('const t =', 'const lead =');
  const skip = lacking && `if (${lacking}) continue;`;
  const writes = plan.columns.map((path, k) => `c${k}[n] = ${numeric(path, reads[k] as string)};`);
  // evenly spaced, none left out: the ends tell all
  const ends = `const rows = list.length;
      if (rows === 0) return 0;
      const last = lead + Math.round((rows - 1) * ${plan.period});
      if (!isTime(lead) || !isTime(last)) return -1;
      if (lead < span[0]) span[0] = lead;`;
  const each = `let rows = 0, last = -1;
      for (let i = 0; i < list.length; i++) {
        const x = list[i];
        ${skip}
        ${ownTime}
        if (!isTime(t) || t < last) return -1;
        if (rows === 0 && t < span[0]) span[0] = t;
        last = t;
        rows++;
      }`;
  return `return {
    scan(m, base, span) {
      const list = ${list};
      if (list == null) return 0;
      if (list.length > cap) return -1;
      ${lead}
      ${own || lacking ? each : ends}
      if (last > span[1]) span[1] = last;
      return rows;
    },
    append(m, base, raw) {
      const list = ${list};
      if (list == null) return;
      ${lead}
      raw.reserve(list.length);
      const time = raw.time;
      ${plan.columns.map((_, k) => `const c${k} = raw.counts[${k}];`).join(' ')}
      let n = raw.length;
      for (let i = 0; i < list.length; i++) {
        const x = list[i];
        ${skip}
        ${ownTime}
        time[n] = t;
        ${writes.join('\n        ')}
        n++;
      }
      raw.length = n;
    },
  };`;
}
