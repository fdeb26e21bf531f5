/** Anomalies and stop calls: what must be answered before flying on. */
import type { FlightReport } from '../../protocol/report.ts';
import { calledGround, type StopCallState, timeToSafe } from '../../protocol/stop-call.ts';
import type { Block, Cell } from './document.ts';
import { limitText, limitValue, personText, phaseName, tableOf } from './parts.ts';
import { isNumber, spanText, timeText, whole } from './words.ts';

/** Open ones first. */
export function openAnomalies(report: FlightReport): Block {
  const anomalies = [...report.conduct.anomalies].sort(
    (a, b) => Number(a.closed !== undefined) - Number(b.closed !== undefined) || a.number - b.number,
  );
  return tableOf(
    [
      { head: 'no.', align: 'end', share: 7 },
      { head: 'state', share: 12 },
      { head: 'what was seen', share: 45 },
      { head: 'opened', share: 28 },
      { head: 'run to ground', share: 35 },
    ],
    anomalies.map(({ number, text, point, opened, closed }): Cell[] => [
      whole(number),
      { text: closed ? 'closed' : 'OPEN', strong: !closed },
      point === '' ? text : `${text} (point ${point})`,
      opened.person === '' ? 'before this flight' : `${timeText(opened.aircraft)} by ${personText(report, opened)}`,
      closed ? `${closed.text}, ${personText(report, closed)}` : 'no',
    ]),
  );
}

export function callTable(report: FlightReport): Block {
  return tableOf(
    [
      { head: 'no.', align: 'end', share: 7 },
      { head: 'state', share: 20 },
      { head: 'call', share: 27 },
      { head: 'made, ground time', share: 22 },
      { head: 'why', share: 40 },
      { head: 'to safe', align: 'end', share: 16 },
    ],
    report.calls.map((call) => callRow(report, call)),
  );
}

function callRow(report: FlightReport, call: StopCallState): Cell[] {
  const isOpen = call.step !== 'closed';
  const safe = timeToSafe(call);
  const { facts } = call;
  const at = isNumber(facts.value) ? ` at ${limitValue(report, call.alarm, facts.value)}` : '';
  const answered = call.alarm === '' ? '' : `; answers ${limitText(report, call.alarm)}${at}`;
  const again = call.repeatOf > 0 ? `; same cause as call ${call.repeatOf}: ended testing` : '';
  return [
    whole(call.number),
    { text: isOpen ? `OPEN, at ${call.step}` : `closed: ${call.decision || 'no decision'}`, strong: isOpen },
    `${call.word}, class ${whole(call.stopClass)}, by ${call.caller || 'a voice not named'}`,
    `${timeText(calledGround(call))}, ${phaseName(report, facts.phase)}${pointText(facts)}`,
    `${call.reason || 'no reason given'}${answered}${again}`,
    safe === undefined ? 'not declared' : spanText(safe),
  ];
}

/** The point that was flown when the call was made, and its gate. */
const pointText = ({ point, gate }: StopCallState['facts']): string => (point ? `; point ${point}, at ${gate}` : '');
