/**
 * hazards.yaml: hazard, mitigation, limit, watcher as a graph, and what is loose in it. Source: the hazard analysis of a test
 * safety review (common practice); rules of our own.
 */
import type { z } from 'zod';
import type { Card } from '../../protocol/card.ts';
import type { Finding } from '../../protocol/finding.ts';
import type { Limit } from '../../protocol/limit.ts';
import type { Person } from '../../protocol/mission.ts';
import type { Hazard, Mitigation } from '../../protocol/procedure.ts';
import { asksToAct } from '../../protocol/hazard-trace.ts';
import type * as schema from './hazards-schema.ts';
import { Names, unknown } from './names.ts';
import type { Item } from './shape.ts';
import { type Path, type Source, shown } from './source.ts';

type HazardText = z.infer<typeof schema.hazard>;
type MitigationText = HazardText['mitigations'][number];

/** What mitigations may name. */
export interface HazardsAround {
  /** the limits that are whole, and the ids of all that are written; the same of cards; checklists as written */
  limits: readonly Limit[];
  limitIds: ReadonlySet<string>;
  cards: readonly Card[];
  cardIds: ReadonlySet<string>;
  checklistIds: ReadonlySet<string>;
  /** empty where mission.yaml is not whole: then nothing is said of who holds a position */
  people: readonly Person[];
}

/** Ids of the entries of a list as far as they are written, whole or not. */
export function writtenIds(source: Source, key: string): Set<string> {
  const list = (source.data as Record<string, unknown> | undefined)?.[key];
  const ids = new Set<string>();
  for (const one of Array.isArray(list) ? (list as ({ id?: unknown } | null)[]) : [])
    if (typeof one?.id === 'string') ids.add(one.id);
  return ids;
}

export function readHazards(source: Source, list: Item<HazardText>[], around: HazardsAround): Hazard[] {
  const ids = new Names<true>('hazard');
  const mitigationIds = new Names<true>('mitigation');
  return list.flatMap(({ value, whole, path }): Hazard[] => {
    if (value.id !== undefined) ids.declare(source, [...path, 'id'], value.id, true);
    if (!whole) return [];
    const { id, title, severity, owner, mitigations: written } = value as HazardText;
    checkHeld(source, [...path, 'owner'], owner, '', around.people);
    if (written.length === 0)
      source.add('hazard-unmitigated', [...path, 'mitigations'], `hazard ${id} without mitigation`, 'at least one');
    const mitigations = written.map((text, i) =>
      readMitigation(source, [...path, 'mitigations', i], text, mitigationIds, around),
    );
    const hazard: Hazard = { id, title, severity, owner, mitigations, place: source.place(path) };
    checkGrave(source, path, hazard, around);
    return [hazard];
  });
}

function readMitigation(
  source: Source,
  path: Path,
  text: MitigationText,
  ids: Names<true>,
  around: HazardsAround,
): Mitigation {
  const { id, limits = [], checklists = [], cards = [], procedure = '' } = text;
  ids.declare(source, [...path, 'id'], id, true);
  const known = (key: 'limits' | 'checklists' | 'cards', kind: string, those: ReadonlySet<string>) => {
    for (const [i, name] of (text[key] ?? []).entries()) {
      const at = [...path, key, i];
      if ((text[key] as string[]).indexOf(name) < i) source.add('duplicate-name', at, shown(name), `a ${kind} once`);
      else if (!those.has(name)) unknown(source, at, name, kind, those);
    }
  };
  known('limits', 'limit', around.limitIds);
  known('checklists', 'checklist', around.checklistIds);
  known('cards', 'card', around.cardIds);
  for (const [i, name] of limits.entries()) {
    const limit = around.limits.find((one) => one.id === name);
    if (limit) checkHeld(source, [...path, 'limits', i], limit.watcher, `${shown(name)}, watched from `, around.people);
  }
  if (limits.length + checklists.length + cards.length === 0 && procedure === '')
    source.add(
      'mitigation-uncontrolled',
      path,
      `mitigation ${id} that nothing holds up`,
      'a limit, a checklist, a card or a procedure',
    );
  return { id, text: text.text, limits, checklists, cards, procedure, place: source.place(path) };
}

/** A position on the day's list. */
function checkHeld(source: Source, path: Path, position: string, before: string, people: readonly Person[]) {
  if (people.length === 0 || people.some((person) => person.position === position)) return;
  source.add('control-unwatched', path, `${before}${position}, which nobody is`, 'a position that somebody holds');
}

/** What may kill or wreck is watched: a limit that calls for action stands against it, or a card that has such limits. */
function checkGrave(source: Source, path: Path, hazard: Hazard, { limits, cards }: HazardsAround) {
  if (hazard.severity !== 'catastrophic' && hazard.severity !== 'critical') return;
  const { mitigations } = hazard;
  const isWhole = (list: readonly { id: string }[], id: string) => list.some((one) => one.id === id);
  const areWhole = mitigations.every(
    (one) => one.limits.every((id) => isWhole(limits, id)) && one.cards.every((id) => isWhole(cards, id)),
  );
  // one without mitigation, or with what is not whole or not there, is told already
  if (mitigations.length === 0 || !areWhole) return;
  const named = new Set(mitigations.flatMap((one) => [...one.limits, ...stopsOf(one, cards)]));
  if (limits.some((limit) => named.has(limit.id) && asksToAct(limit))) return;
  source.add(
    'hazard-uncontrolled',
    [...path, 'severity'],
    `hazard ${hazard.id}, ${hazard.severity}, that no limit watches`,
    'a limit with a warning or a stop, or a card with such stop criteria, in a mitigation',
  );
}

const stopsOf = ({ cards: named }: Mitigation, cards: readonly Card[]): string[] =>
  cards.filter(({ id }) => named.includes(id)).flatMap(({ points }) => points.flatMap(({ stops }) => stops));

/** Limits that call for action although no hazard says why: each where it stands. */
export function orphanControls(limits: readonly Limit[], hazards: readonly Hazard[]): Finding[] {
  const named = new Set(hazards.flatMap(({ mitigations }) => mitigations.flatMap((one) => one.limits)));
  return limits
    .filter((limit) => asksToAct(limit) && !named.has(limit.id))
    .map((limit) => ({
      code: 'orphan-control',
      ...(limit.places?.['id'] ?? limit.place ?? { file: 'limits.yaml', line: 0, column: 0 }),
      found: `limit ${limit.id}, which no mitigation names`,
      expected: 'a hazard in hazards.yaml that it is a control of',
    }));
}
