/** How the alarms did in the flight that test/support/flight-report.ts reports. */
import type { AlarmMetrics } from '../../protocol/alarm-metrics.ts';
import { groundTime, SECOND } from '../../protocol/time.ts';

const at = (seconds: number): number => (1_795_600_800 + seconds) * SECOND;

export const metrics = (): AlarmMetrics => ({
  from: groundTime(at(0)),
  to: groundTime(at(900)),
  positions: ['test director', 'test conductor', 'engine', 'rotor and loads'].map((position, index) => ({
    position,
    announced: [9, 9, 4, 5][index] as number,
    mean: [6, 6, 2.7, 3.3][index] as number,
    peakHour: [9, 9, 4, 5][index] as number,
    peakPeriod: [8, 8, 4, 4][index] as number,
    peakMinute: [6, 6, 3, 3][index] as number,
    peakMinuteFrom: groundTime(at(420)),
    busyPeriods: 0,
    busyHours: 0,
    floods: [1, 1, 0, 0][index] as number,
    floodTime: [42 * SECOND, 42 * SECOND, 0, 0][index] as number,
    floodShare: [0.047, 0.047, 0, 0][index] as number,
  })),
  priorities: { advisory: 1, caution: 5, warning: 2, stop: 1, data: 2 },
  topTen: [
    { alarm: 'tq-high', announced: 4, share: 0.36 },
    { alarm: 'seat-two-per-rev', announced: 3, share: 0.27 },
    { alarm: 'stream-gap', announced: 2, share: 0.18 },
  ],
  topTenShare: 0.81,
  chattering: [{ alarm: 'seat-two-per-rev', times: 1 }],
  fleeting: [{ alarm: 'tq-high', times: 1 }],
  stale: [],
  standing: [{ alarm: 'gearbox-oil-temperature', since: groundTime(at(822)) }],
  shelved: [
    {
      alarm: 'seat-two-per-rev',
      person: 'rl',
      position: 'rotor and loads',
      reason: 'known rub of the seat pick-up, looked at on the ground',
      from: groundTime(at(430)),
      to: groundTime(at(610)),
      lasted: 180 * SECOND,
    },
  ],
  outOfService: [],
  suppressed: [{ alarm: 'nr-low', times: 2, lasted: 96 * SECOND }],
  noAction: [{ alarm: 'stream-gap', times: 1 }],
});
