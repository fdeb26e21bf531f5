/** pages.yaml: what the displays show, and where. */
import type { z } from 'zod';
import type { Page, PageElement } from '../../protocol/mission.ts';
import { Names } from './names.ts';
import type { ParameterNames } from './parameters.ts';
import { readSeconds } from './quantity.ts';
import type * as schema from './schema.ts';
import type { Item } from './shape.ts';
import type { Path, Source } from './source.ts';

type PageText = z.infer<typeof schema.page>;
type ElementText = PageText['rows'][number]['elements'][number];

/** Span of a strip chart, seconds. */
const SHORTEST = 1;
const LONGEST = 600;
/** Shares written with few decimals may add up to a little more than 1. */
const ROUNDING = 0.011;

export function readPages(source: Source, list: Item<PageText>[], names: ParameterNames): Page[] {
  const result: Page[] = [];
  const ids = new Names<true>('page');
  for (const { value, whole, path } of list) {
    const before = source.troubles;
    if (value.id !== undefined) ids.declare(source, [...path, 'id'], value.id, true);
    const rows = (value.rows ?? []).map((row, r) => {
      const at = [...path, 'rows', r];
      const elements = row.elements.map((element, e) => readElement(source, [...at, 'elements', e], element, names));
      const width = row.elements.reduce((sum, element) => sum + (element.width ?? 0), 0);
      if (width > 1 + ROUNDING)
        source.add('bad-value', at, `widths that add up to ${round(width)}`, 'at most 1 in a row');
      return { height: row.height, elements };
    });
    const height = rows.reduce((sum, row) => sum + row.height, 0);
    if (height > 1 + ROUNDING)
      source.add('bad-value', [...path, 'rows'], `heights that add up to ${round(height)}`, 'at most 1 on a page');
    if (!whole || source.troubles > before) continue;
    const { id, title, positions } = value as PageText;
    result.push({ id, title, positions: positions ?? [], rows });
  }
  return result;
}

function readElement(source: Source, path: Path, element: ElementText, names: ParameterNames): PageElement {
  const { kind, title, parameters, range, span, width } = element;
  for (const [i, name] of parameters.entries()) {
    const at = [...path, 'parameters', i];
    const known = names.parameters.find(source, at, name);
    if (kind === 'states' && known && !known.hasStates && !names.broken.has(name))
      source.add('bad-value', at, name, 'a discrete, with names for its states');
  }
  if (kind === 'attitude' && parameters.length !== 3)
    source.add('bad-value', [...path, 'parameters'], `${parameters.length} parameters`, 'three: pitch, roll, heading');
  if (range !== undefined && range[0] >= range[1])
    source.add('bad-value', [...path, 'range'], `${range[0]} to ${range[1]}`, 'the lower end first, then a higher one');
  const seconds = span === undefined ? undefined : readSeconds(source, [...path, 'span'], span, SHORTEST, LONGEST);
  return {
    kind,
    ...(title && { title }),
    parameters,
    ...(range && { range }),
    ...(seconds !== undefined && { span: seconds }),
    ...(width !== undefined && { width }),
  };
}

const round = (share: number): number => Math.round(share * 1000) / 1000;
