/**
 * Part `report`: the report of an hour's flight from its recording, against folding the same recording and nothing else.
 * What counts is the flight time that is reported in a second.
 */
import { rmSync } from 'node:fs';
import { dirname } from 'node:path';
import { foldAll } from '../../replay/player.ts';
import { Recording } from '../../replay/recording/recording.ts';
import { Pipeline } from '../../station/pipeline.ts';
import { reportOf } from '../../station/report.ts';
import { flownEntries, recorded } from '../support/flown.ts';
import { demonstrationMission, scenarioFile } from '../support/rehearsal.ts';
import { compare, type Part, seconds } from './measure.ts';

const HOUR = 3600;
/** seconds of flight in a second: an hour in half a minute */
const LEAST = HOUR / 30;

/** The first rehearsal with a long cruise before its autorotation. */
function hourLong(): string {
  const scenario = scenarioFile('first-flight');
  const short = scenario.durationUs / 1e6;
  const at = scenario.script.findIndex((step) => step.do === 'autorotate');
  scenario.script.splice(at, 0, { do: 'fly', speed: 80, height: 285, for: HOUR - short });
  scenario.durationUs = HOUR * 1e6;
  return recorded(flownEntries(demonstrationMission(), scenario));
}

export async function reportPart(rounds: number): Promise<Part> {
  const file = hourLong();
  const timed = (work: (recording: Recording) => void) => () => {
    const recording = Recording.open(file);
    const spent = seconds(() => work(recording));
    recording.close();
    return HOUR / spent;
  };
  const report = timed((recording) => {
    const { aircraft, margins } = reportOf(recording);
    if (aircraft.to - aircraft.from < (HOUR - 1) * 1e6 || margins.length === 0) throw new Error('not all was reported');
  });
  const fold = timed((recording) => foldAll(recording, new Pipeline({ gather: 1_000_000 })));
  const row = await compare('one hour reported, flight time', 's/s', rounds, report, fold);
  rmSync(dirname(file), { recursive: true, force: true });
  // on this part the target is of the value: what it is measured in does not depend on another machine's baseline
  return { part: 'report', rows: [{ ...row, target: LEAST, met: row.value >= LEAST }] };
}
