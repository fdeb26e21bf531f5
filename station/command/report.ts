/** `groundchase report`: the report of a flight from its recording, as data, page and paper. */
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { FlightReport, MarginUsed } from '../../protocol/report.ts';
import { clockText, isoText, SECOND } from '../../protocol/time.ts';
import { RecordingError } from '../../replay/recording/open.ts';
import { Recording } from '../../replay/recording/recording.ts';
import { reportOf } from '../report.ts';
import { type Arguments, type Command, exitCode, jsonOption, print, printJson, say, Trouble } from './command.ts';

/** Lines of each table of the summary. */
const MOST_LINES = 12;

export const command: Command = {
  name: 'report',
  summary: 'report a flight: points, margins used, exceedances, maintenance candidates, alarms, link',
  usage: 'FILE',
  details: `Folds the recording once and prints a short summary; with --out it writes report.html, report.pdf and report.json (every
number, see protocol/report.ts) into that folder. A recording that is still being written, or was never closed, is reported
as far as it goes, and a damaged one up to the damage. Exit code 1 when anything of the recording was changed, could not be
read, or could not be kept.`,
  options: [
    {
      name: 'out',
      kind: 'text',
      value: 'DIR',
      summary: 'write report.html, report.pdf and report.json into this folder',
    },
    jsonOption,
  ],
  async run(args) {
    const began = performance.now();
    const report = read(args.operand);
    const seconds = (performance.now() - began) / 1000;
    await write(report, args);
    if (args.flag('json')) printJson(report);
    else tell(report);
    if (!report.chain.closed) say('the recording was not closed: this is the flight as far as it was kept');
    if (report.unread !== '') say(`it could be read no further, and is reported up to there: ${report.unread}`);
    if (report.lostEntries > 0) say(`${report.lostEntries} entries could not be kept: the report has not seen them`);
    if (report.chain.whole === false) say('something of the recording was changed: groundchase info --verify names it');
    const lasted = (report.ground.to - report.ground.from) / SECOND;
    say(`${lasted.toFixed(0)} s of flight reported in ${seconds.toFixed(1)} s`);
    return report.chain.whole === false || report.lostEntries > 0 || report.unread !== ''
      ? exitCode.finding
      : exitCode.success;
  },
};

function read(file: string): FlightReport {
  try {
    const recording = Recording.open(file);
    try {
      return reportOf(recording);
    } finally {
      recording.close();
    }
  } catch (error) {
    throw error instanceof RecordingError ? new Trouble(error.message) : error;
  }
}

async function write(report: FlightReport, args: Arguments): Promise<void> {
  const folder = args.text('out');
  if (folder === '') return;
  const { reportHtml } = await import('../../replay/report/html.ts');
  const { reportPdf } = await import('../../replay/report/pdf.ts');
  const files = {
    'report.html': reportHtml(report),
    'report.pdf': await reportPdf(report),
    'report.json': `${JSON.stringify(report)}\n`,
  };
  try {
    mkdirSync(folder, { recursive: true });
    for (const [name, content] of Object.entries(files)) writeFileSync(join(folder, name), content);
  } catch (error) {
    throw new Trouble(`nothing can be written to ${folder}: ${(error as Error).message}`);
  }
  for (const name of Object.keys(files)) say(join(folder, name));
}

function tell(report: FlightReport): void {
  const { mission, flight, conduct, exceedances, maintenance, margins, link, alarms } = report;
  const { from, to } = report.aircraft;
  print(`${mission.aircraft}, flight ${flight.number || 'not named'}, baseline ${mission.baselineId.slice(0, 12)}`);
  if (from > 0) print(`${isoText(from)} to ${isoText(to)}, ${((to - from) / SECOND).toFixed(0)} s of aircraft time`);
  const good = conduct.points.filter(({ judged }) => judged?.judgement === 'good').length;
  print(
    `points flown ${conduct.points.length}, good ${good}; stop calls ${report.calls.length}; limit changes ${report.changes.length}`,
  );
  const announced = alarms.priorities;
  print(
    `announced: ${announced.stop} stop, ${announced.warning} warning, ${announced.caution} caution, ${announced.advisory} advisory, ${announced.data} data`,
  );
  print(
    `link: ${link.frames} frames, ${link.lost} lost, ${link.gapCount} gaps of ${(link.gapTime / SECOND).toFixed(1)} s in all`,
  );
  table(
    'exceedances',
    exceedances.filter(({ alarm }) => alarm !== ''),
    (one) => [
      clockText(one.from),
      one.limit,
      one.level,
      `peak ${number(one.peak)} ${one.unit}`.trim(),
      `for ${((one.beyond[0]?.time ?? one.to - one.from) / SECOND).toFixed(2)} s`,
      one.phase,
      one.point,
    ],
  );
  table(
    'limits that saw nothing',
    report.sight.filter(({ seen, unseen }) => seen === 0 && unseen > 0),
    (one) => [one.limit, `cannot tell for ${(one.unseen / SECOND).toFixed(1)} s`],
  );
  table('maintenance candidates', maintenance, (one) => [
    one.row,
    one.action,
    `peak ${number(one.peak)} ${one.unit}`,
    `${one.beyondS.toFixed(1)} s${one.unsureS > 0 ? `, ${one.unsureS.toFixed(1)} s not seen` : ''}`,
  ]);
  const told = margins.filter((one): one is MarginUsed & { used: number } => one.used !== null);
  table('margins used', told, (one) => [
    `${(100 * one.used).toFixed(0)} %`,
    one.limit,
    `${one.side} ${one.level} ${number(one.limitValue)} ${one.unit}`,
    `${number(one.extreme)} at ${clockText(one.at)}`,
    one.phase,
  ]);
}

const number = (value: number | null): string => (value === null ? 'not seen' : String(Number(value.toPrecision(5))));

function table<T>(title: string, rows: readonly T[], cells: (row: T) => string[]): void {
  print(`${title}: ${rows.length === 0 ? 'none' : rows.length}`);
  for (const row of rows.slice(0, MOST_LINES)) print(`  ${cells(row).filter(Boolean).join('  ')}`);
  if (rows.length > MOST_LINES) print(`  and ${rows.length - MOST_LINES} more`);
}
