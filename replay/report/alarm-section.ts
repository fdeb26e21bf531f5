/** How the alarms of the flight performed, and what was changed in the limits. */
import { type AsideMetrics, alarmTargets } from '../../protocol/alarm-metrics.ts';
import type { LimitChange, LimitValues } from '../../protocol/limit-change.ts';
import { levels } from '../../protocol/limit.ts';
import type { FlightReport } from '../../protocol/report.ts';
import type { Block, Cell, Section } from './document.ts';
import { limitText, limitUnit, personText, tableOf, tableOr } from './parts.ts';
import { count, numberText, percentText, spanText, timeText, whole } from './words.ts';

export function alarmBlocks(report: FlightReport): Block[] {
  const { alarms } = report;
  const { advisory, caution, warning, stop, data } = alarms.priorities;
  const announced = advisory + caution + warning + stop + data;
  return [
    {
      kind: 'paragraph',
      text: `${count(announced, 'announcement')} in ${spanText(alarms.to - alarms.from)} of ground time: ${whole(stop)} stop, ${whole(warning)} warning, ${whole(caution)} caution, ${whole(advisory)} advisory, ${whole(data)} of the data.`,
    },
    positions(report),
    { kind: 'heading', text: 'Announced most often' },
    topTen(report),
    { kind: 'heading', text: 'Chattering, fleeting, standing, without action' },
    behaved(report),
    { kind: 'heading', text: 'Put aside' },
    aside(report),
    {
      kind: 'paragraph',
      text: `Yardsticks, meant for process plants: up to ${alarmTargets.good} in ten minutes at a position is good, up to ${alarmTargets.manageable} manageable; no chattering; a flood at most ${percentText(alarmTargets.floodShare, 0)} of the time; the ten most frequent at most ${percentText(alarmTargets.topTenShare, 0)} of all.`,
    },
  ];
}

const positions = (report: FlightReport): Block =>
  tableOr(
    report,
    [
      { head: 'position', share: 28 },
      { head: 'announced', align: 'end', share: 16 },
      { head: 'in ten minutes', align: 'end', share: 16 },
      { head: 'worst ten minutes', align: 'end', share: 17 },
      { head: 'worst minute', align: 'end', share: 22 },
      { head: 'floods', align: 'end', share: 12 },
      { head: 'time in flood', align: 'end', share: 22 },
    ],
    report.alarms.positions.map((one): Cell[] => [
      one.position,
      whole(one.announced),
      numberText(one.mean),
      whole(one.peakPeriod),
      one.announced > 0 ? `${whole(one.peakMinute)} from ${timeText(one.peakMinuteFrom).slice(0, 8)}` : '0',
      whole(one.floods),
      `${spanText(one.floodTime)}, ${percentText(one.floodShare)}`,
    ]),
  );

const topTen = (report: FlightReport): Block =>
  tableOr(
    report,
    [
      { head: 'alarm', share: 70 },
      { head: 'announced', align: 'end', share: 15 },
      { head: 'share of all', align: 'end', share: 15 },
    ],
    report.alarms.topTen.map(({ alarm, announced, share }): Cell[] => [
      limitText(report, alarm),
      whole(announced),
      percentText(share),
    ]),
  );

function behaved(report: FlightReport): Block {
  const { chattering, fleeting, stale, standing, noAction } = report.alarms;
  const row = (what: string, alarm: string, how: string): Cell[] => [what, limitText(report, alarm), how];
  return tableOr(
    report,
    [
      { head: 'what', share: 20 },
      { head: 'alarm', share: 60 },
      { head: 'how often', share: 25 },
    ],
    [
      ...chattering.map(({ alarm, times }) => row('chattering', alarm, `${whole(times)} ×`)),
      ...fleeting.map(({ alarm, times }) => row('fleeting', alarm, `${whole(times)} ×`)),
      ...stale.map((alarm) => row('stood over 24 h', alarm, '')),
      ...standing.map(({ alarm, since }) => row('stands at the end', alarm, `since ${timeText(since)}`)),
      ...noAction.map(({ alarm, times }) => row('no action taken', alarm, `${whole(times)} ×`)),
    ],
  );
}

function aside(report: FlightReport): Block {
  const { shelved, outOfService, suppressed } = report.alarms;
  const row = (how: string, one: AsideMetrics): Cell[] => [
    how,
    limitText(report, one.alarm),
    `${personText(report, one)}: ${one.reason}`,
    `${timeText(one.from)}, ${spanText(one.lasted)}${one.to === 0 ? ', still' : ''}`,
  ];
  return tableOf(
    [
      { head: 'how', share: 20 },
      { head: 'alarm', share: 38 },
      { head: 'by whom and why', share: 40 },
      { head: 'from, for', share: 28 },
    ],
    [
      ...shelved.map((one) => row('shelved', one)),
      ...outOfService.map((one) => row('out of service', one)),
      ...suppressed.map(({ alarm, times, lasted }): Cell[] => [
        'suppressed by design',
        limitText(report, alarm),
        'the mission, by phase',
        `${whole(times)} ×, ${spanText(lasted)} in all`,
      ]),
    ],
  );
}

const valuesText = (values: LimitValues, unit: string): string =>
  (['above', 'below'] as const)
    .flatMap((side) => levels.map((level) => [side, level, values[side]?.[level]] as const))
    .filter(([, , value]) => value !== undefined)
    .map(([side, level, value]) => `${level} ${side} ${numberText(value, unit)}`)
    .concat(values.persistence > 0 ? [`for ${spanText(values.persistence)}`] : [])
    .join(', ') || 'no value';

export function changeSection(report: FlightReport): Section {
  const table = tableOf(
    [
      { head: 'no.', align: 'end', share: 7 },
      { head: 'state', share: 17 },
      { head: 'limit', share: 22 },
      { head: 'before', share: 24 },
      { head: 'after', share: 24 },
      { head: 'who and why', share: 38 },
    ],
    report.changes.map((change): Cell[] => [
      whole(change.number),
      { text: `${change.state}, ${change.tightens ? 'tightens' : 'LOOSENS'}`, strong: !change.tightens },
      limitText(report, change.limit),
      valuesText(change.before, limitUnit(report, change.limit)),
      valuesText(change.after, limitUnit(report, change.limit)),
      whoAndWhy(report, change),
    ]),
  );
  return { id: 'changes', title: 'Changes of limits', blocks: [table] };
}

function whoAndWhy(report: FlightReport, change: LimitChange): string {
  const decided =
    change.decidedBy === ''
      ? ''
      : `; decided by ${personText(report, { person: change.decidedBy, position: change.decidedPosition })}`;
  const note = change.note === '' ? '' : `, ${change.note}`;
  const said =
    change.state === 'in force'
      ? `; pilot ${change.pilotInformed ? 'told' : 'NOT told'}, ${change.offCondition ? 'off condition' : 'ON condition'}`
      : '';
  return `${personText(report, change)} at ${timeText(change.aircraft)}: ${change.reason}${decided}${note}${said}`;
}
