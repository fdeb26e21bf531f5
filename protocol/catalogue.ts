/** What a mission says of each of its parameters, received and derived, in words; and the one search over it. */
import { columnGroups, type Mission } from './mission.ts';
import type { Parameter } from './parameter.ts';
import { SECOND } from './time.ts';

export interface CatalogueEntry {
  id: string;
  name: string;
  /** '' where the mission says nothing more */
  description: string;
  unit: string;
  kind: 'received' | 'derived';
  group: string;
  /** samples a second; 0 = every sample has its own time */
  rate: number;
  /** seconds of ground time without a sample after which it is stale */
  staleAfter: number;
  /** how the value comes about: the format and calibration of a received one, the formula of a derived one */
  origin: string;
  /** where its calibration comes from and when it was made; '' where there is none */
  calibrationSource: string;
  calibrationDate: string;
  /** '' for a received one */
  formula: string;
  /** names of the values of a discrete, by value */
  states?: Record<string, string>;
  /** values outside are not physical */
  range?: [number, number];
  /** made of a condition in another file: no list shows it */
  condition?: true;
  /** ids of the limits that watch it */
  limits: string[];
}

const plural = (count: number, what: string) => `${count} ${what}${count === 1 ? '' : 's'}`;

function fieldOf({ calibration, bits }: Parameter): string {
  const field = calibration.kind === 'bits' ? calibration : bits;
  if (field === undefined) return '';
  const last = field.shift + field.width - 1;
  const which = field.width === 1 ? `bit ${last}` : `bits ${field.shift} to ${last}`;
  const coding = field.coding === undefined ? '' : ` as ${field.coding}`;
  return `${which}${field.mask === undefined ? '' : ' under a mask'}${field.word === undefined ? '' : ` of ${field.word}`}${coding}`;
}

function ruleOf({ calibration }: Parameter): string {
  switch (calibration.kind) {
    case 'polynomial': {
      const { coefficients } = calibration;
      const isIdentity = coefficients.length === 2 && coefficients[0] === 0 && coefficients[1] === 1;
      return isIdentity ? '' : `polynomial of degree ${coefficients.length - 1}`;
    }
    case 'table':
      return `table of ${plural(calibration.counts.length, 'point')}${calibration.curve ? `, ${calibration.curve}` : ''}`;
    case 'states':
      return `discrete of ${plural(Object.keys(calibration.states).length, 'state')}`;
    case 'bits':
      return calibration.states ? `discrete of ${plural(Object.keys(calibration.states).length, 'state')}` : '';
  }
}

function originOf(parameter: Parameter): string {
  const { format, calibrationSource, calibrationDate } = parameter;
  const parts = [
    format === undefined ? '' : `received ${format}`,
    fieldOf(parameter),
    ruleOf(parameter),
    calibrationSource ?? '',
    calibrationDate ?? '',
  ];
  return parts.filter((part) => part !== '').join(', ');
}

/** Every parameter of a mission, in column order. */
export function catalogue(mission: Mission): CatalogueEntry[] {
  const groups = columnGroups(mission);
  const limitsOf = new Map<string, string[]>();
  for (const { id, parameter } of mission.limits) {
    const ids = limitsOf.get(parameter);
    if (ids) ids.push(id);
    else limitsOf.set(parameter, [id]);
  }
  const common = (one: { id: string; name: string; description?: string; unit: string }, column: number) => {
    const group = mission.groups[groups[column] as number];
    const { id, name, description = '', unit } = one;
    const staleAfter = (group?.staleAfter ?? 0) / SECOND;
    return { id, name, description, unit, group: group?.id ?? '', rate: group?.rate ?? 0, staleAfter };
  };
  const received = mission.parameters.map((parameter, column): CatalogueEntry => {
    const { calibration, physicalRange: range } = parameter;
    const states = 'states' in calibration ? calibration.states : undefined;
    return {
      ...common(parameter, column),
      kind: 'received',
      origin: originOf(parameter),
      calibrationSource: parameter.calibrationSource ?? '',
      calibrationDate: parameter.calibrationDate ?? '',
      formula: '',
      ...(states && { states }),
      ...(range && { range }),
      limits: limitsOf.get(parameter.id) ?? [],
    };
  });
  const derived = mission.derived.map((one, i): CatalogueEntry => {
    const { formula, states } = one;
    return {
      ...common(one, mission.parameters.length + i),
      kind: 'derived',
      origin: one.id === mission.phases?.parameter ? 'state of the phases of flight' : `= ${formula}`,
      calibrationSource: '',
      calibrationDate: '',
      formula,
      ...(states && { states }),
      ...(one.condition && { condition: one.condition }),
      limits: limitsOf.get(one.id) ?? [],
    };
  });
  return [...received, ...derived];
}

/** What of an entry is searched, in lower case. */
export const searchedText = (entry: CatalogueEntry): string =>
  [
    entry.id,
    entry.name,
    entry.description,
    entry.unit,
    entry.kind,
    entry.group,
    entry.rate > 0 ? `${entry.rate}/s` : '',
    entry.origin,
    ...Object.values(entry.states ?? {}),
    ...entry.limits,
  ]
    .join(' ')
    .toLowerCase();

/** Whether a text in lower case holds every word of the question, whatever the case. No word fits everything. */
export function searchFor(question: string): (text: string) => boolean {
  const words = question.toLowerCase().split(/\s+/).filter(Boolean);
  return (text) => words.every((word) => text.includes(word));
}
