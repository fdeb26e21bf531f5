/** What several sections of the report use. */
import type { ConductView } from '../../protocol/conduct.ts';
import type { FlightReport } from '../../protocol/report.ts';
import type { Block, Cell, Column } from './document.ts';
import { count, type Maybe, numberText, percentText, spanText, whole } from './words.ts';

export type Run = ConductView['points'][number];

/** What of the flight could be seen, in one sentence: stands beside every "none recorded". */
export function coverage({ link, aircraft, lostEntries }: FlightReport): string {
  const { frames, lost, gaps, gapTime, gapCount } = link;
  if (frames === 0) return 'no frame was received: nothing of the flight could be seen';
  const share = percentText(frames / (frames + lost), 2);
  const longest = Math.max(0, ...gaps.map(({ from, to }) => to - from));
  const silent =
    gapCount === 0
      ? 'no gap longer than 0.5 s'
      : `${count(gapCount, 'gap')} longer than 0.5 s, ${spanText(gapTime)} in all${gapCount === gaps.length ? `, the longest ${spanText(longest)}` : ''}`;
  const kept = lostEntries > 0 ? `; the recorder could not keep ${count(lostEntries, 'entry', 'entries')}` : '';
  return `${share} of the frames of ${spanText(aircraft.to - aircraft.from)} received (${whole(lost)} lost); ${silent}${kept}`;
}

/** A table, or the words that nothing of it was recorded: of what people said and did. */
export const tableOf = (columns: Column[], rows: Cell[][]): Block =>
  rows.length > 0 ? { kind: 'table', columns, rows } : { kind: 'paragraph', text: 'None recorded.' };

/** The same of what the data said: with what could be seen of it. */
export function tableOr(report: FlightReport, columns: Column[], rows: Cell[][]): Block {
  if (rows.length > 0) return { kind: 'table', columns, rows };
  return { kind: 'paragraph', text: `None recorded. What could be seen: ${coverage(report)}.` };
}

/** Words of a limit or data-quality condition as the mission or the alarm list has them; else its id. */
export function limitName({ names, alarmLines, margins, exceedances }: FlightReport, id: string): string {
  const same = ({ limit }: { limit: string }): boolean => limit === id;
  const told = names.limits.find((one) => one.id === id);
  return (told ?? exceedances.find(same) ?? margins.find(same) ?? alarmLines.find(same))?.text || id;
}

/** Unit of the values of a limit; '' where it has none. */
export const limitUnit = ({ names }: FlightReport, id: string): string =>
  names.limits.find((one) => one.id === id)?.unit ?? '';

/** A value of a limit with its unit. */
export const limitValue = (report: FlightReport, id: string, value: Maybe): string =>
  numberText(value, limitUnit(report, id));

/** Name and id, unless they are the same. */
const named = (name: string | undefined, id: string): string => (name && name !== id ? `${name} (${id})` : id);

export const parameterText = ({ names }: FlightReport, id: string): string =>
  named(names.parameters.find((one) => one.id === id)?.name, id);

export const pointText = ({ names }: FlightReport, id: string): string =>
  named(names.points.find((one) => one.id === id)?.title, id);

/** The title of the card that a point is on; '' where the mission has none. */
export function cardText({ names }: FlightReport, point: string): string {
  const card = names.points.find(({ id }) => id === point)?.card;
  return names.cards.find(({ id }) => id === card)?.title ?? '';
}

/** Name and id, unless they are the same. */
export function limitText(report: FlightReport, id: string): string {
  return named(limitName(report, id), id);
}

export const phaseName = ({ phases }: FlightReport, id: string): string =>
  phases.find((phase) => phase.id === id)?.name || id || 'phase unknown';

/** Name and position of a person; the id where the mission knows no such person. */
export function personText(
  { people }: FlightReport,
  { person, position }: { person: string; position: string },
): string {
  const name = people.find(({ id }) => id === person)?.name || person || 'the station';
  return position === '' ? name : `${name} (${position})`;
}

/** Phase of flight, and the point with the number of its run. */
export function whereText(
  report: FlightReport,
  { phase, point, run }: { phase: string; point: string; run: number },
): string {
  return [phaseName(report, phase), point === '' ? '' : `point ${point}${run > 0 ? `, run ${run}` : ''}`]
    .filter(Boolean)
    .join('; ');
}

/** Said where rows are left out. */
export const moreThan = (all: number, shown: number, one: string): Block[] =>
  all > shown
    ? [
        {
          kind: 'paragraph',
          strong: true,
          text: `${count(all - shown, one)} more, not printed; report.json has them all.`,
        },
      ]
    : [];
