/** A report for tests of its layout: of a flight of which nothing was seen. */
import type { FlightReport } from '../../protocol/report.ts';
import { fullReport } from './flight-report.ts';

const none = { number: '', crew: '', note: '', closed: false };

/** Nothing came: not a frame, not an alarm, not a point. */
export function emptyReport(): FlightReport {
  const full = fullReport();
  return {
    ...full,
    flight: none,
    aircraft: { from: 0, to: 0 },
    chain: { value: '', blocks: 0, whole: true, closed: false },
    ids: { match: false, softwareId: '', configurationId: '' },
    phases: [],
    states: [],
    conduct: {
      points: [],
      steps: [],
      anomalies: [],
      readiness: null,
      sequences: [],
      checklists: [],
      stopwatches: [],
      voiceLost: null,
      evidence: null,
      faults: [],
    },
    margins: [],
    pointMargins: {},
    exceedances: [],
    unannounced: [],
    announcedMore: [],
    sight: full.sight.map(({ limit }) => ({ limit, seen: 0, unseen: 0, off: 0 })),
    maintenance: [],
    alarms: {
      ...full.alarms,
      positions: [],
      priorities: { advisory: 0, caution: 0, warning: 0, stop: 0, data: 0 },
      topTen: [],
      topTenShare: 0,
      chattering: [],
      fleeting: [],
      standing: [],
      shelved: [],
      suppressed: [],
      noAction: [],
    },
    alarmLines: [],
    calls: [],
    changes: [],
    marks: [],
    link: { ...full.link, frames: 0, lost: 0, receivers: [], gaps: [], gapTime: 0, gapCount: 0 },
    traces: [],
    pointTraces: {},
    cautions: [],
  };
}
