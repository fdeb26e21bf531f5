/** What the pages need of the rest of the station. */
import type { AlarmMetrics } from '../../protocol/alarm-metrics.ts';
import type { WhatIfAnswer } from '../../protocol/difference.ts';
import type { Reading } from '../../protocol/limit.ts';
import type { LimitValues } from '../../protocol/limit-change.ts';
import type { Mission } from '../../protocol/mission.ts';

export interface Visitor {
  person: string;
  name: string;
  position: string;
}

/** As a page, on paper, as data. */
export type ReportForm = 'html' | 'pdf' | 'json';

/** Bytes, name of the file without ending, and the Content-Security-Policy of a page; or a status of HTTP with words. */
export type ReportAnswer = { body: Uint8Array; name: string; policy: string } | { status: number; error: string };

export interface Front {
  mode: 'live' | 'rehearsal' | 'replay';
  missionName: () => string;
  /** the mission in force */
  mission: () => Mission | undefined;
  /** JSON of the mission in force; '' before there is one */
  missionJson: () => string;
  health: () => Record<string, unknown>;
  /** how the alarms of the flight have performed so far; undefined before there is a mission */
  alarmMetrics: () => AlarmMetrics | undefined;
  /** other numbers that a limit keeps; undefined for one there is none of */
  readings: (limit: string) => readonly Reading[] | undefined;
  /** what other values of a limit would have meant for the flight so far, or a status with words */
  whatIf: (
    person: string,
    asked: { limit: string; values: LimitValues },
    signal: AbortSignal,
  ) => Promise<{ answer: WhatIfAnswer } | { status: number; error: string }>;
  /** the report of the flight so far, or of the recording that is replayed */
  report: (form: ReportForm, signal: AbortSignal) => Promise<ReportAnswer>;
  visitor: (cookieHeader: string | undefined) => Visitor | undefined;
  /** Set-Cookie for a sign-in token, or undefined */
  openSession: (token: string) => string | undefined;
  /** people sign in by id and password */
  byPassword: () => boolean;
  /** Set-Cookie for an id and its password; undefined when they do not fit, 'busy' when too many are asking */
  enter: (id: string, password: string) => Promise<string | 'busy' | undefined>;
  /** ends the session of this Cookie header; Set-Cookie that takes the cookie away */
  closeSession: (cookieHeader: string | undefined) => string;
  /** false for a request that a page of somebody else's made */
  isOwnOrigin: (origin: string | undefined, host: string | undefined) => boolean;
  /** false for a Host header that is none of this machine's names */
  isOwnHost: (hostHeader: string | undefined) => boolean;
  /** folder of the built display */
  display: string;
}
