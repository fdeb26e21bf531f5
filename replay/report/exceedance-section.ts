/** Every crossing of a limit, the most severe first, and what the limits could not see. */
import { type Level, levels } from '../../protocol/limit.ts';
import type { Exceedance, FlightReport } from '../../protocol/report.ts';
import type { Block, Cell, Section } from './document.ts';
import { limitName, limitText, tableOr, whereText } from './parts.ts';
import { sightBlocks } from './sight-section.ts';
import { CANNOT_TELL, count, isNumber, numberText, spanText, timeText, whole } from './words.ts';

/** Rows that are printed; report.json has all that were kept. */
export const EXCEEDANCES_SHOWN = 300;

const cellOfLevel = (level: Level): Cell => ({ text: level, level, strong: level === 'warning' || level === 'stop' });

export function exceedanceSection(report: FlightReport): Section {
  const worst = [...report.exceedances].sort(
    (a, b) => levels.indexOf(b.level) - levels.indexOf(a.level) || a.from - b.from,
  );
  return {
    id: 'exceedances',
    title: 'Exceedances',
    blocks: [
      tableOr(
        report,
        [
          { head: 'level', share: 13 },
          { head: 'limit', share: 27 },
          { head: 'peak', align: 'end', share: 15 },
          { head: 'from, lasting', share: 18 },
          { head: 'time beyond each level', share: 25 },
          { head: 'phase, point', share: 17 },
          { head: 'data', share: 21 },
        ],
        worst.slice(0, EXCEEDANCES_SHOWN).map((one) => exceedanceRow(report, one)),
      ),
      ...unannounced(report),
      ...sightBlocks(report),
    ],
  };
}

/** What the table leaves out, and how it is to be read. */
function unannounced(report: FlightReport): Block[] {
  const { exceedances, unannounced: quiet, announcedMore } = report;
  const blocks: Block[] = [];
  const told = (list: FlightReport['unannounced']): string =>
    list
      .filter(({ crossings, listed: shown }) => crossings > shown)
      .map(
        ({ limit, crossings, listed: shown }) =>
          `${limitText(report, limit)}: ${whole(crossings)}, ${whole(shown)} kept`,
      )
      .join('; ');
  const rest = exceedances.length - EXCEEDANCES_SHOWN;
  if (rest > 0) {
    const text = `${count(rest, 'exceedance')} of no higher level than those above ${rest === 1 ? 'is' : 'are'} not printed; report.json has what was kept.`;
    blocks.push({ kind: 'paragraph', strong: true, text });
  }
  const [many, short] = [told(announcedMore), told(quiet)];
  if (many !== '') {
    const text = `Of limits that were exceeded very often the farthest crossings are kept. ${many}.`;
    blocks.push({ kind: 'paragraph', strong: true, text });
  }
  if (short !== '') {
    const text = `Of crossings that raised no alarm of their own the farthest are kept. ${short}.`;
    blocks.push({ kind: 'paragraph', text });
  }
  if (exceedances.length > 0) {
    const text =
      'Peaks are raw samples. Times are aircraft time, from the first sample beyond the first level to the last; time that could not be seen counts as beyond. A crossing shorter than the persistence of its limit raises no alarm.';
    blocks.push({ kind: 'paragraph', text });
  }
  return blocks;
}

function exceedanceRow(report: FlightReport, one: Exceedance): Cell[] {
  const stood = one.raised > 0 && one.cleared === 0 ? ', stood to the end' : '';
  // of what is known from the alarm alone, when it came is known and how long it was true is not
  const lasting = one.beyond.length === 0 ? stood : `, ${spanText(one.to - one.from)}${stood}`;
  const beyond = one.beyond.map(
    ({ level, value, time, unsure }) =>
      `${level}${isNumber(value) ? ` ${numberText(value, one.unit)}` : ''}: ${spanText(time)}${unsure > 0 ? `, ${spanText(unsure)} of it not seen` : ''}`,
  );
  const { samples, unusable, longestGap } = one.quality;
  const data =
    samples === 0
      ? CANNOT_TELL
      : `${unusable === 0 ? 'every' : `${whole(samples - unusable)} of ${whole(samples)}`} sample${unusable === 0 ? '' : 's'} usable; longest gap ${spanText(longestGap)}`;
  const name = `${one.text || limitName(report, one.limit)} (${one.limit})`;
  // a limit that is true or not has no values
  const isState = one.unit === '' && !isNumber(one.limitValue);
  const detail = one.detail === '' ? '' : `, ${one.detail}`;
  const silent = one.alarm === '' ? '; no alarm of its own' : '';
  return [
    cellOfLevel(one.level),
    `${name}${isState ? '' : `, ${one.side} ${numberText(one.limitValue, one.unit)}`}${detail}${silent}`,
    isState ? 'was true' : { text: `${numberText(one.peak, one.unit)} at ${timeText(one.peakAt)}`, strong: true },
    `${timeText(one.from)}${lasting}`,
    beyond.join('; ') || CANNOT_TELL,
    whereText(report, one),
    data,
  ];
}
