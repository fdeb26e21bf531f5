/** sequences.yaml, key `checklists`: what people do, in order, when voice, link or something else is lost. */
import type { Checklist } from '../../protocol/procedure.ts';
import type { z } from 'zod';
import { condition } from './conditions.ts';
import { Names } from './names.ts';
import type { ParameterNames } from './parameters.ts';
import { readSeconds } from './quantity.ts';
import type { checklist } from './sequences-schema.ts';
import type { Item } from './shape.ts';
import type { Path, Source } from './source.ts';

type ChecklistText = z.infer<typeof checklist>;

/**
 * Silence that may be waited for, seconds: not before the first values may go stale, which is when the room is told of
 * silence at all.
 */
const SILENCE = [0.5, 600] as const;

export function readChecklists(
  source: Source,
  list: readonly Item<ChecklistText>[],
  names: ParameterNames,
): Checklist[] {
  const ids = new Names<true>('checklist');
  const result: Checklist[] = [];
  for (const { value, whole, path } of list) {
    const before = source.troubles;
    if (value.id !== undefined) ids.declare(source, [...path, 'id'], value.id, true);
    const { shown } = value;
    if (shown !== undefined) checkKeys(source, path, value, shown);
    const after =
      value.after === undefined ? undefined : readSeconds(source, [...path, 'after'], value.after, ...SILENCE);
    const when =
      value.when === undefined
        ? undefined
        : condition(source, [...path, 'when'], value.when, '', `checklist.${value.id ?? ''}.when`, names);
    if (!whole || source.troubles > before || (when !== undefined && names.broken.has(when))) continue;
    const { id, title, steps } = value as ChecklistText;
    result.push({
      ...{ id, title, shown: value.shown as Checklist['shown'], steps },
      ...(when !== undefined && { when }),
      ...(after !== undefined && { after }),
      place: source.place(path),
    });
  }
  return result;
}

/** Which of `when` and `after` goes with what shows it. */
function checkKeys(source: Source, path: Path, value: Partial<ChecklistText>, shown: Checklist['shown']) {
  const wanted = { when: shown === 'condition', after: shown === 'link lost' || shown === 'contact lost' };
  for (const key of ['when', 'after'] as const) {
    if (wanted[key] && value[key] === undefined)
      source.add('wrong-shape', path, `no ${key}`, `${key}, for a checklist shown by ${shown}`);
    if (!wanted[key] && value[key] !== undefined)
      source.addAtKey('wrong-shape', [...path, key], key, `no ${key}: it does not go with ${shown}`);
  }
}
