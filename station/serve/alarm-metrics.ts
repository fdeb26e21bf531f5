/** What `GET /api/v1/alarm-metrics` answers (protocol/alarm-metrics.ts), for the OpenAPI description. */
import { z } from 'zod';
import type { AlarmMetrics } from '../../protocol/alarm-metrics.ts';
import type { Plain } from './plain.ts';

const time = z.int().describe('ground time, microseconds since the Unix epoch, UTC');
const span = z.number().min(0).describe('microseconds of ground time');
const share = z.number().min(0).max(1);
const often = z.strictObject({ alarm: z.string(), times: z.int() });
const aside = z.strictObject({
  alarm: z.string(),
  person: z.string(),
  position: z.string(),
  reason: z.string(),
  from: time,
  to: time.describe('0 = it still is'),
  lasted: span,
});

export const alarmMetricsAnswer = z.strictObject({
  from: time,
  to: time,
  positions: z.array(
    z.strictObject({
      position: z.string(),
      announced: z.int(),
      mean: z.number().describe('in ten minutes'),
      peakHour: z.int().describe('the most in one hour'),
      peakPeriod: z.int().describe('the most in one ten-minute period'),
      peakMinute: z.int(),
      peakMinuteFrom: time,
      busyPeriods: share.describe('share of ten-minute periods with more than ten'),
      busyHours: share.describe('share of hours with more than thirty'),
      floods: z.int(),
      floodTime: span,
      floodShare: share,
    }),
  ),
  priorities: z
    .strictObject({ advisory: z.int(), caution: z.int(), warning: z.int(), stop: z.int(), data: z.int() })
    .describe('announced by level; those of the data family apart'),
  topTen: z.array(z.strictObject({ alarm: z.string(), announced: z.int(), share })),
  topTenShare: share,
  chattering: z.array(often).describe('activated for at least the third time within a minute'),
  fleeting: z.array(often).describe('cleared before anybody could act'),
  stale: z.array(z.string()).describe('stood for more than 24 h'),
  standing: z.array(z.strictObject({ alarm: z.string(), since: time })).describe('stand now'),
  shelved: z.array(aside),
  outOfService: z.array(aside),
  suppressed: z.array(z.strictObject({ alarm: z.string(), times: z.int(), lasted: span })),
  noAction: z.array(often).describe('announced, and neither acknowledged, put aside nor answered by a stop call'),
}) satisfies z.ZodType<Plain<AlarmMetrics>>;
