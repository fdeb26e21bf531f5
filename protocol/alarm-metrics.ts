/**
 * How the alarms of a flight behaved: what the room reads after it, and during it. All spans are of ground time, since
 * they are about the load on people. An alarm is *announced* when it is raised or escalates in service, and when it comes
 * back into service and stands; it is *activated* whenever it is raised.
 */
import { type GroundTime, type Microseconds, SECOND } from './time.ts';

/**
 * What a good alarm system keeps to. Sources: ANSI/ISA-18.2-2016 and IEC 62682, metrics table (from memory), and EEMUA
 * Publication 191; the check value is named at each. Meant for process plants: a yardstick, not a requirement.
 */
export const alarmTargets = {
  /** announced at one position in ten minutes: good up to 1 (AL-EEM-RATE), manageable up to 2 (from memory) */
  good: 1,
  manageable: 2,
  /** in an hour: on average (AL-EEM-AVG), acceptable and manageable at most (AL-ISA-DAY), in the worst one (AL-EEM-PKH) */
  meanHour: 5,
  acceptableHour: 6,
  manageableHour: 12,
  peakHour: 15,
  /** AL-EEM-PKM */
  peakMinute: 2,
  /** share of ten-minute periods with more than ten, and of hours with more than thirty (AL-ISA-PCT10, AL-ISA-PCT30) */
  busyPeriod: 10,
  busyPeriods: 0.01,
  busyHour: 30,
  busyHours: 0.01,
  /** share of time in a flood (from memory) */
  floodShare: 0.01,
  /** AL-ISA-CHN */
  chattering: 0,
  fleeting: 0,
  /** AL-ISA-STN: fewer than five */
  stale: 4,
  /** share of what is announced that the ten most frequent alarms make (AL-ISA-TOP10) */
  topTenShare: 0.05,
  /** share of what is announced by priority (AL-EEM-PRIO): warnings and stop limits, cautions, advisories */
  priorities: { high: 0.05, medium: 0.15, low: 0.8 },
} as const;

/** What the counted words mean. */
export const alarmWords = {
  /** AL-ISA-CHAT: this many activations of one alarm within a minute */
  chattering: { activations: 3, within: (60 * SECOND) as Microseconds },
  /**
   * AL-ISA-FLEET: it clears before anybody could act, and is not activated again within a minute. To see, decide, speak
   * and react takes some 4 s (ours).
   */
  fleeting: { shorterThan: (4 * SECOND) as Microseconds, alone: (60 * SECOND) as Microseconds },
  /** AL-ISA-STALE: it stands for longer */
  stale: (24 * 3600 * SECOND) as Microseconds,
  period: (600 * SECOND) as Microseconds,
} as const;

export interface PositionMetrics {
  position: string;
  announced: number;
  /** in ten minutes; of a flight shorter than that, all of them */
  mean: number;
  /** the most in one hour, ten-minute period and minute of the flight, counted from its start, and when that minute began */
  peakHour: number;
  peakPeriod: number;
  peakMinute: number;
  peakMinuteFrom: GroundTime;
  /** share of ten-minute periods with more than ten, and of hours with more than thirty, begun ones included */
  busyPeriods: number;
  busyHours: number;
  floods: number;
  floodTime: Microseconds;
  floodShare: number;
}

/** One span in which a person had put an alarm aside. */
export interface AsideMetrics {
  alarm: string;
  person: string;
  position: string;
  reason: string;
  from: GroundTime;
  /** 0 = it still is */
  to: GroundTime;
  lasted: Microseconds;
}

export interface AlarmMetrics {
  from: GroundTime;
  to: GroundTime;
  /** the positions that watch something, and those that have the whole room in view */
  positions: PositionMetrics[];
  /** announced by level; alarms of the data family apart, at whatever level */
  priorities: { advisory: number; caution: number; warning: number; stop: number; data: number };
  /** the ten announced most often, and the share of all announcements they make together (0 when there were none) */
  topTen: { alarm: string; announced: number; share: number }[];
  topTenShare: number;
  /** how often each was activated for at least the third time within a minute */
  chattering: { alarm: string; times: number }[];
  fleeting: { alarm: string; times: number }[];
  /** stood for more than 24 h */
  stale: string[];
  /** stand at the end */
  standing: { alarm: string; since: GroundTime }[];
  shelved: AsideMetrics[];
  outOfService: AsideMetrics[];
  /** how often each was suppressed by design, and for how long in all */
  suppressed: { alarm: string; times: number; lasted: Microseconds }[];
  /** announced, and then neither acknowledged by anybody, nor put aside, nor answered by a stop call: how often */
  noAction: { alarm: string; times: number }[];
}
