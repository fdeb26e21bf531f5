/**
 * Lays out the report of a flight for a reader who must decide in two minutes: what flight it was and what could not be
 * seen of it, what was exceeded, what is open; then everything else. It computes nothing: what it prints stands in the
 * report, and a number that is missing there is said to be.
 */
import { cautions } from '../../protocol/cautions.ts';
import { levels } from '../../protocol/limit.ts';
import type { FlightReport, MaintenanceCandidate } from '../../protocol/report.ts';
import { alarmBlocks, changeSection } from './alarm-section.ts';
import { callTable, openAnomalies } from './call-section.ts';
import type { Block, Cell, ReportDocument, Section } from './document.ts';
import { courseSections, recordSections } from './flight-section.ts';
import { exceedanceSection } from './exceedance-section.ts';
import { coverage, limitName, moreThan, personText, phaseName, tableOr, whereText } from './parts.ts';
import { pointSection, stepSection } from './point-section.ts';
import { readinessSection } from './readiness-section.ts';
import { neverSaw, sawInPart } from './sight-section.ts';
import {
  CANNOT_TELL,
  capital,
  count,
  dateText,
  isNumber,
  numberText,
  orNone,
  percentText,
  spanText,
  timeText,
  whole,
} from './words.ts';

/** Rows that are printed. */
export const CANDIDATES_SHOWN = 200;

/** On every report, beside those that all papers bear. */
const reportCautions = [
  'What was not received or could not be used was not looked at. "None recorded" says what the recording holds, and no more.',
  'Maintenance candidates come from a table of the mission; whether anything is inspected is decided by those who answer for it.',
];

export function layOut(report: FlightReport): ReportDocument {
  const { flight, mission, chain, ground } = report;
  const name = flight.number === '' ? 'Flight without a number' : `Flight ${flight.number}`;
  return {
    title: `${name}: after-flight report`,
    subtitle: 'Decision support for a trained team. Not certified; commands nothing; voice is primary.',
    foot: [`${name} · ${mission.aircraft}`, `baseline ${mission.baselineId}`, `chain ${chain.value || 'no value yet'}`],
    date: ground.to,
    sections: [
      headSection(report),
      glanceSection(report),
      exceedanceSection(report),
      maintenanceSection(report),
      openSection(report),
      pointSection(report),
      stepSection(report),
      marginSection(report),
      { id: 'alarms', title: 'How the alarms performed', blocks: alarmBlocks(report) },
      changeSection(report),
      ...courseSections(report),
      readinessSection(report),
      ...recordSections(report),
      cautionSection(report),
    ],
  };
}

function headSection(report: FlightReport): Section {
  const { flight, mission, aircraft, ground, chain, ids, conduct } = report;
  const none = ids.softwareId === '' && ids.configurationId === '';
  const same = ids.match ? 'match the baseline' : none ? 'cannot tell' : 'DO NOT MATCH the baseline';
  const told = none
    ? 'the aircraft sent none'
    : `software ${orNone(ids.softwareId)}, configuration ${orNone(ids.configurationId)}`;
  const wanted = `the baseline is for software ${orNone(mission.softwareId)}, configuration ${orNone(mission.configurationId)}`;
  const held = conduct.evidence;
  return {
    id: 'flight',
    title: 'The flight',
    blocks: [
      {
        kind: 'facts',
        rows: [
          { name: 'flight', value: `${orNone(flight.number)}${flight.note === '' ? '' : `: ${flight.note}`}` },
          { name: 'crew', value: orNone(flight.crew) },
          { name: 'mission', value: `${mission.name} (${report.mode})` },
          { name: 'aircraft', value: mission.aircraft },
          { name: 'recorded', value: `${dateText(ground.from)} to ${dateText(ground.to)}, ground time` },
          {
            name: 'aircraft time',
            value:
              aircraft.from > 0
                ? `${timeText(aircraft.from)} to ${timeText(aircraft.to)}, ${spanText(aircraft.to - aircraft.from)}`
                : 'no sample was received',
          },
          { name: 'baseline', value: mission.baselineId },
          {
            name: 'aircraft’s ids',
            value: ids.match ? `${same}: ${told}` : `${same}: ${told}; ${wanted}`,
            strong: !ids.match,
          },
          {
            name: 'recording',
            value: `${report.file}, ${chain.closed ? 'closed' : 'NOT CLOSED: the flight so far'}${flight.closed ? '; the flight was closed in the room' : ''}`,
            strong: !chain.closed,
          },
          { name: 'chain value', value: chain.value || CHAIN_LATER },
          { name: 'chain', value: chainText(chain), strong: chain.whole === false },
          {
            name: 'evidence',
            value: held
              ? `HELD since ${dateText(held.ground)} by ${personText(report, held)}: ${held.reason}`
              : 'not held in the room',
          },
          ...report.earlier.map(({ baselineId, from, to }) => ({
            name: 'earlier baseline',
            value: `${baselineId} from ${timeText(from)} to ${timeText(to)}: not in this report`,
            strong: true,
          })),
          ...conduct.faults.map(({ part, fault }) => ({
            name: 'fault',
            value: `the part ${part} of test conduct ended with a fault, and what it shows is not to be believed: ${fault}`,
            strong: true,
          })),
          { name: 'data', value: coverage(report), strong: report.link.gapCount > 0 || report.lostEntries > 0 },
        ],
      },
    ],
  };
}

/** In place of candidates. */
const NO_TABLE = 'The mission has no maintenance table: nothing was looked for';

const CHAIN_LATER = 'none yet';

function chainText({ blocks, whole }: FlightReport['chain']): string {
  if (blocks === 0) return 'no block was written';
  const words = { true: 'every block is as it was written', false: 'NOT INTACT: some of it was changed or is missing' };
  return `${count(blocks, 'block')}: ${whole === null ? 'not looked at, it is being written' : words[`${whole}`]}`;
}

/** Why the report may not be of the whole flight, or not of this aircraft. */
function notWhole(report: FlightReport): string[] {
  const { chain, unread, lostEntries, earlier, ids, conduct, aircraft, ground, sight } = report;
  const to = `The report covers the flight to ${timeText(aircraft.to)} aircraft time, ${dateText(ground.to)} ground time`;
  const notes: string[] = [];
  if (unread !== '')
    notes.push(`${to}: the recording could be read no further (${unread}). What came after is not in it.`);
  else if (!chain.closed)
    notes.push(
      `${to}: ${chain.whole === null ? 'the recording is still being written' : 'the recording was not closed'}. What came after is not in it.`,
    );
  if (lostEntries > 0)
    notes.push(`The recorder could not keep ${count(lostEntries, 'entry', 'entries')}: the report has not seen them.`);
  if (earlier.length > 0)
    notes.push(`Flown under ${count(earlier.length, 'other baseline')} before: that part is not in this report.`);
  if (!ids.match) notes.push('The aircraft’s software and configuration are not known to be those of the baseline.');
  if (conduct.faults.length > 0)
    notes.push(`Ended with a fault, not to be believed: ${conduct.faults.map(({ part }) => part).join(', ')}.`);
  if (sight.length === 0) notes.push('The mission declares no limits: that nothing was exceeded cannot be told.');
  return notes;
}

/** The count of everything that stands against flying again, with what could be seen beside it. */
function glanceSection(report: FlightReport): Section {
  const { exceedances, maintenance, calls, conduct, chain } = report;
  const ofData = new Set(report.names.limits.filter(({ family }) => family === 'data').map(({ id }) => id));
  const lost = exceedances.filter(({ limit }) => ofData.has(limit));
  const passed = exceedances.filter(({ limit }) => !ofData.has(limit));
  const found = levels
    .map((level) => [level, passed.filter((one) => one.level === level).length] as const)
    .filter(([, number]) => number > 0)
    .reverse();
  const unlisted = [...report.unannounced, ...report.announcedMore].reduce(
    (sum, { crossings, listed: shown }) => sum + crossings - shown,
    0,
  );
  const [dark, dim] = [neverSaw(report), sawInPart(report)];
  const anomalies = conduct.anomalies.filter(({ closed }) => closed === undefined);
  const openCalls = calls.filter(({ step }) => step !== 'closed');
  const repeats = conduct.points.filter(({ judged }) => judged?.judgement === 'repeat');
  const undecided = conduct.points.filter(({ judged }) => judged === undefined);
  const ended = calls.find(({ repeatOf }) => repeatOf > 0);
  const row = (what: string, number: number, which: string, none = 'none recorded'): Cell[] => [
    what,
    { text: number === 0 ? none : whole(number), strong: number > 0 || none === CANNOT_TELL },
    which,
  ];
  const isBlind = report.sight.length === 0 || report.link.frames === 0;
  const hasTable = report.names.maintenance.length > 0 && report.link.frames > 0;
  const rows: Cell[][] = [
    row(
      'exceedances',
      passed.length + unlisted,
      `${found.map(([level, number]) => `${number} ${level}`).join(', ')}${unlisted > 0 ? `, ${unlisted} not listed` : ''}`,
      isBlind ? CANNOT_TELL : 'none recorded',
    ),
    row(
      'alarms of the data',
      lost.length,
      listed([...new Set(lost.map(({ limit }) => limitName(report, limit)))]),
      isBlind ? CANNOT_TELL : 'none recorded',
    ),
    row('limits that saw nothing', dark.length, listed(dark.map(({ limit }) => limitName(report, limit))), 'none'),
    row('limits blind for a part', dim.length, listed(dim.map(({ limit }) => limitName(report, limit))), 'none'),
    row(
      'maintenance candidates',
      maintenance.length,
      listed([...new Set(maintenance.map(({ text }) => text))]) ||
        (report.names.maintenance.length > 0 ? '' : NO_TABLE),
      hasTable ? 'none recorded' : CANNOT_TELL,
    ),
    row('anomalies open', anomalies.length, listed(anomalies.map(({ number, text }) => `${number}: ${text}`))),
    row(
      'stop calls',
      calls.length,
      [calls.length > 0 ? `${openCalls.length || 'none'} open` : '', ended ? 'a second class 1 ended testing' : '']
        .filter(Boolean)
        .join('; '),
    ),
    row('points to repeat', repeats.length, listed(repeats.map(({ point }) => point))),
    row('points not decided', undecided.length, listed(undecided.map(({ point }) => point))),
  ];
  const blocks: Block[] = [
    {
      kind: 'table',
      columns: [
        { head: 'recorded', share: 22 },
        { head: 'how many', share: 14 },
        { head: 'which', share: 64 },
      ],
      rows,
    },
    { kind: 'paragraph', text: `What could be seen: ${coverage(report)}.` },
  ];
  const notes = notWhole(report);
  if (notes.length > 0) blocks.unshift({ kind: 'list', strong: true, items: notes });
  if (chain.whole === false) {
    blocks.unshift({
      kind: 'paragraph',
      strong: true,
      text: 'The recording is not intact. Nothing below may be relied on before it is known what was changed.',
    });
  }
  return { id: 'glance', title: 'May it fly again: what stands against it', blocks };
}

const listed = (texts: readonly string[], most = 6): string =>
  texts.length > most ? `${texts.slice(0, most).join('; ')}; and ${texts.length - most} more` : texts.join('; ');

function maintenanceSection(report: FlightReport): Section {
  return {
    id: 'maintenance',
    title: 'Maintenance candidates',
    blocks: [
      tableOr(
        report,
        [
          { head: 'what', share: 24 },
          { head: 'asked for', share: 28 },
          { head: 'band reached', share: 20 },
          { head: 'found', share: 22 },
          { head: 'when', share: 16 },
          { head: 'source', share: 18 },
        ],
        report.maintenance.slice(0, CANDIDATES_SHOWN).map((one) => maintenanceRow(report, one)),
      ),
      ...moreThan(report.maintenance.length, CANDIDATES_SHOWN, 'candidate'),
      ...(report.names.maintenance.length === 0
        ? [{ kind: 'paragraph', strong: true, text: `${NO_TABLE}.` } satisfies Block]
        : []),
    ],
  };
}

function maintenanceRow(report: FlightReport, one: MaintenanceCandidate): Cell[] {
  const band = `${one.side} ${numberText(one.value, one.unit)}${one.seconds > 0 ? ` for ${numberText(one.seconds, 's')}` : ' at all'}`;
  const unsure = isNumber(one.unsureS) && one.unsureS > 0 ? `, ${numberText(one.unsureS, 's')} of it not seen` : '';
  return [
    `${one.text} (${one.parameter})`,
    { text: one.action, strong: true },
    `${band}, ${one.cumulative ? 'over the flight' : 'at one time'}`,
    `peak ${numberText(one.peak, one.unit)}; ${numberText(one.beyondS, 's')} beyond${unsure}`,
    `${timeText(one.from)} to ${timeText(one.to)}; ${one.phases.map((id) => phaseName(report, id)).join(', ') || 'phase unknown'}`,
    one.source,
  ];
}

const openSection = (report: FlightReport): Section => ({
  id: 'open',
  title: 'Anomalies and stop calls',
  blocks: [
    { kind: 'heading', text: 'Anomalies' },
    openAnomalies(report),
    { kind: 'heading', text: 'Stop calls' },
    callTable(report),
  ],
});

export const MARGINS_SHOWN = 20;

function marginSection(report: FlightReport): Section {
  const shown = report.margins.slice(0, MARGINS_SHOWN);
  const rest = report.margins.length - shown.length;
  return {
    id: 'margins',
    title: 'Margins used, smallest first',
    blocks: [
      tableOr(
        report,
        [
          { head: 'used', align: 'end', share: 11 },
          { head: 'limit', share: 36 },
          { head: 'level', share: 24 },
          { head: 'extreme', align: 'end', share: 18 },
          { head: 'at', share: 17 },
          { head: 'phase, point', share: 22 },
        ],
        shown.map((one): Cell[] => [
          isNumber(one.used) ? { text: percentText(one.used), strong: one.used >= 1 } : 'no datum',
          `${one.text || limitName(report, one.limit)} (${one.limit})`,
          { text: `${one.level} ${one.side} ${numberText(one.limitValue, one.unit)}`, level: one.level },
          numberText(one.extreme, one.unit),
          timeText(one.at),
          whereText(report, one),
        ]),
      ),
      {
        kind: 'paragraph',
        text: `Share of the way from the datum (0, or the middle of a limit with two sides) to the level; 100 % = at it.${rest > 0 ? ` ${capital(count(rest, 'limit'))} with more margin not listed.` : ''}`,
      },
    ],
  };
}

const cautionSection = (report: FlightReport): Section => ({
  id: 'cautions',
  title: 'Cautions',
  blocks: [{ kind: 'list', items: [...new Set([...cautions, ...report.cautions, ...reportCautions])] }],
});
