/** How points, their runs and their numbers are said. */
import type { FamilyMeasure, StatisticName, TestPoint } from '../../protocol/card.ts';
import type { PointGate, PointRun } from '../../protocol/conduct.ts';
import { clockText } from '../../protocol/time.ts';
import type { Flight } from '../state/flight.ts';
import { plainNumber } from './limit-words.ts';
import { unitText } from './readout.ts';

export const brief = (time: number): string => (time > 0 ? clockText(time).slice(0, 8) : '–');

/** Whole seconds where there are some, with a tenth where there is not. */
export const secondsOf = (microseconds: number): string => `${plainNumber(Math.round(microseconds / 1e5) / 10)} s`;

export const gateTitles: Record<PointGate, string> = {
  setup: 'Setup',
  'on condition': 'On condition',
  manoeuvre: 'Manoeuvre',
  recover: 'Recover',
  admin: 'Admin',
  closed: 'Closed',
};

/** The control only says what was said by voice: that is its label. */
export const gateLabel = (gate: PointGate): string => (gate === 'closed' ? 'Close the run' : `Log ${gate} said`);

/** Ways that are not the usual one. */
export const otherGateLabel: Record<PointGate, string> = {
  setup: 'Off condition: set up again',
  'on condition': gateLabel('on condition'),
  manoeuvre: gateLabel('manoeuvre'),
  recover: 'Break off: recover said',
  admin: gateLabel('admin'),
  closed: gateLabel('closed'),
};

/** What the runner offers, as a sentence; people decide. */
export function offerText({ offer, offered }: PointRun, point: TestPoint | undefined): string {
  if (offer === '') return '';
  const since = `since ${brief(offered)}`;
  if (offer === 'on condition')
    return point && point.tolerance.length > 0
      ? `every band has held ${secondsOf(point.dwell)} ${since}`
      : `what the card asks for has held ${since}`;
  return `the record has all that is wanted ${since}`;
}

export const attemptText = ({ attempt }: PointRun): string => (attempt > 1 ? `, attempt ${attempt}` : '');

/** Decimals that show a fifth of a scatter; two where there is none. */
export const decimalsFor = (scatter: number): number =>
  scatter > 0 ? Math.min(5, Math.max(0, Math.ceil(-Math.log10(scatter / 5) - 1e-9))) : 2;

export const numberText = (value: number | null, decimals: number): string => {
  if (value === null || Number.isNaN(value)) return '–';
  const text = value.toFixed(decimals);
  return Number(text) === 0 ? (0).toFixed(decimals) : text.replace('-', '−');
};

export const measureText = (value: number | null, measure: Pick<FamilyMeasure, 'scatter' | 'unit'>): string =>
  `${numberText(value, decimalsFor(measure.scatter))} ${unitText(measure.unit)}`.trim();

/** A statistic of a parameter is told one decimal finer than the parameter; a slope two. */
export const statisticDecimals = (flight: Flight, parameter: string, statistic: StatisticName): number =>
  (flight.declared(parameter)?.decimals ?? 1) + (statistic === 'slope' ? 2 : 1);

export const statisticUnit = (flight: Flight, parameter: string, statistic: StatisticName): string => {
  const unit = unitText(flight.declared(parameter)?.unit ?? '');
  return statistic === 'slope' ? `${unit || '1'}/s` : unit;
};

/** A share as per cent: whole ones, and a tenth near the ends, where it matters. */
export function percentText(share: number | null): string {
  if (share === null || Number.isNaN(share)) return '–';
  const percent = share * 100;
  // never rounded to all or nothing when it is neither
  const near = percent > 0 && percent < 100 && (percent < 1 || percent > 99);
  const text = percent.toFixed(near ? 1 : 0);
  if (percent < 100 && Number(text) === 100) return 'over 99.9 %';
  return `${text} %`;
}

export const pointTitle = (flight: Flight, id: string): string =>
  flight.mission?.cards?.flatMap(({ points }) => points).find((point) => point.id === id)?.title ?? '';
