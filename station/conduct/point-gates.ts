/** The gates of a test point as a life cycle: where a run stands, and which gate may be entered next. No timer enters one. */
import { type PointGate, pointGates } from '../../protocol/conduct.ts';

/** Gate a run stands at, to the gates that may follow. Recover may be said from any gate before it. */
export const pointSequence: Readonly<Record<PointGate, readonly PointGate[]>> = {
  // given up before the record: nothing was flown that would need a recovery
  setup: ['on condition', 'recover', 'closed'],
  // fallen off condition: set up again, and the record begins anew
  'on condition': ['setup', 'manoeuvre', 'recover'],
  manoeuvre: ['recover'],
  recover: ['admin', 'closed'],
  admin: ['closed'],
  closed: [],
};

/** Why the gate may not be entered from where a run stands, in words; '' when it may. */
export function gateRefusal(at: PointGate, wanted: string): string {
  if (!(pointGates as readonly string[]).includes(wanted)) return `there is no gate ${wanted || 'without a name'}`;
  const next = pointSequence[at];
  if ((next as readonly string[]).includes(wanted)) return '';
  const may = next.length === 0 ? 'nothing follows' : `${next.join(' or ')} may follow`;
  return `${wanted} does not follow ${at}: ${may}`;
}

/** Gates at which a point may be judged good or repeat: its record has ended. */
export const isFlown = (gate: PointGate): boolean => gate === 'recover' || gate === 'admin';
