/** maintenance.yaml: which exceedance asks for which inspection. The bands are the maker's; nothing of them is in the program. */
import { nearestName } from '../../protocol/finding.ts';
import { type PhaseMachine, phaseNumber } from '../../protocol/phase.ts';
import type { MaintenanceRow } from '../../protocol/procedure.ts';
import type { z } from 'zod';
import type { maintenanceRow } from './maintenance-schema.ts';
import { type Known, Names } from './names.ts';
import type { ParameterNames } from './parameters.ts';
import { readQuantity, readSeconds } from './quantity.ts';
import { type Item, meant } from './shape.ts';
import type { Path, Source } from './source.ts';

type RowText = z.infer<typeof maintenanceRow>;
type BandsText = NonNullable<RowText['above']>;
type Band = MaintenanceRow['bands'][number];
type Side = MaintenanceRow['side'];

/** Longest time of a band, seconds: ten hours. */
const LONGEST = 36_000;

export interface AroundMaintenance {
  names: ParameterNames;
  /** absent = none is declared; `broken`: they are, with findings of their own */
  phases: { machine: PhaseMachine } | 'broken' | undefined;
}

/** The rows that are whole. */
export function readMaintenance(
  source: Source,
  list: readonly Item<RowText>[],
  { names, phases }: AroundMaintenance,
): MaintenanceRow[] {
  const result: MaintenanceRow[] = [];
  const ids = new Names<true>('row');
  for (const { value, whole, path, faulty } of list) {
    const before = source.troubles;
    if (value.id !== undefined) ids.declare(source, [...path, 'id'], value.id, true);
    const known =
      value.parameter === undefined
        ? undefined
        : names.parameters.find(source, [...path, 'parameter'], value.parameter);
    const side = sideOf(source, path, value, faulty);
    checkPhases(source, [...path, 'phases'], value.phases, phases);
    const bands = side && known && readBands(source, [...path, side], value[side] as BandsText, side, known);
    const isBroken = names.broken.has(value.parameter ?? '') || (value.phases !== undefined && phases === 'broken');
    if (!whole || source.troubles > before || isBroken || !bands || !side) continue;
    const { id, text, parameter, source: document } = value as RowText;
    const inPhases = value.phases && { phases: value.phases };
    result.push({ id, text, parameter, side, bands, ...inPhases, source: document, place: source.place(path) });
  }
  return result;
}

function sideOf(source: Source, path: Path, value: Partial<RowText>, faulty: ReadonlySet<string>): Side | undefined {
  if (value.above !== undefined && value.below !== undefined) {
    source.addAtKey(
      'wrong-shape',
      [...path, 'below'],
      'above and below',
      'one of them; the other side is a row of its own',
    );
    return undefined;
  }
  if (value.above !== undefined) return 'above';
  if (value.below !== undefined) return 'below';
  if (!faulty.has('above') && !faulty.has('below')) {
    source.add('wrong-shape', path, 'neither above nor below', 'above or below, with at least one band');
  }
  return undefined;
}

function checkPhases(
  source: Source,
  path: Path,
  ids: readonly string[] | undefined,
  declared: AroundMaintenance['phases'],
): void {
  if (ids === undefined || declared === 'broken') return;
  const machine = declared?.machine;
  const known = machine?.phases.map(({ id }) => id) ?? [];
  for (const [i, id] of ids.entries()) {
    if (machine && phaseNumber(machine, id) >= 0) continue;
    const expected = machine ? `a phase: ${known.join(', ')}` : 'no phases, since the mission declares none';
    source.add('unknown-name', [...path, i], `phase ${id}`, expected, meant(nearestName(id, known)));
  }
}

function readBands(
  source: Source,
  path: Path,
  list: BandsText,
  side: Side,
  { unit, range }: Known,
): Band[] | undefined {
  const sign = side === 'above' ? 1 : -1;
  if (unit === undefined) return undefined;
  const bands = list.map((text, i): Band | undefined => {
    const at = [...path, i];
    const value = readQuantity(source, [...at, 'value'], text.value, unit);
    const cumulative = text['in all'] !== undefined;
    if (cumulative && text.for !== undefined)
      source.addAtKey('wrong-shape', [...at, 'in all'], 'for and in all', 'one of them: in one go, or over the flight');
    const key = cumulative ? 'in all' : 'for';
    const seconds = readSeconds(source, [...at, key], text[key] ?? 0, 0, LONGEST);
    const end = range?.[side === 'above' ? 1 : 0];
    if (value !== undefined && end !== undefined && sign * (end - value) <= 0) {
      const expected = `a value inside the physical range, which ends at ${end}`;
      source.add('bad-value', [...at, 'value'], `${side} ${value}`, expected);
    }
    if (value === undefined || seconds === undefined) return undefined;
    return { value, seconds, cumulative, action: text.action };
  });
  if (bands.some((band) => band === undefined)) return undefined;
  const whole = bands as Band[];
  whole.forEach((band, i) => {
    const earlier = whole.slice(0, i).reverse();
    const nearer = earlier.find(({ value }) => sign * value > sign * band.value);
    const same = earlier.find(({ value, cumulative }) => value === band.value && cumulative === band.cumulative);
    const at = [...path, i, 'value'];
    if (nearer)
      source.add(
        'limit-order',
        at,
        `${band.value} after ${nearer.value}`,
        'bands from the mildest, the nearest value first',
      );
    else if (same && same.seconds >= band.seconds)
      source.add('limit-order', at, `${band.seconds} s after ${same.seconds} s`, 'a longer time with the same value');
  });
  return whole;
}
