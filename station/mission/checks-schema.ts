/** Shape of the keys `morning check` and `control sweep` of readiness.yaml. */
import { z } from 'zod';
import { duration, map, parameterId, quantity } from './written.ts';

const counts = z.number({ error: 'a number of counts' });

export const channelCheck = map({
  parameter: parameterId.describe('the channel'),
  zero: quantity.optional().describe('its mean with nothing applied; default 0'),
  'zero tolerance': quantity.describe('the mean with nothing applied may be off by this'),
  noise: z
    .tuple([quantity, quantity], { error: 'two values, [least, most]' })
    .describe('standard deviation with nothing applied, [least, most]: quieter is dead, noisier is bad'),
  shunt: quantity.optional().describe('step of the mean by the shunt calibration; absent = it has no shunt'),
  'shunt tolerance': quantity.optional().describe('the step may be off by this'),
  counts: map({
    zero: counts.describe('counts with nothing applied'),
    shunt: counts.optional().describe('step of the counts by the shunt'),
  })
    .optional()
    .describe('as the sheet of the calibration says it: tells a wrong calibration from a wrong gain'),
});

export const morningCheck = map({
  gather: duration.describe('aircraft time gathered with nothing applied, and with each shunt in'),
  settle: duration.optional().describe('aircraft time let pass first, while what was switched settles; default none'),
  'rate tolerance': quantity.describe('share that samples a second may be off, like 2 %'),
  'time offset': duration.describe('ground time minus aircraft time may be this at most, either way'),
  'time drift': duration.describe('and may change by this much a minute'),
  'calibration days': z
    .int()
    .min(1, 'from 1 to 10000')
    .max(10_000, 'from 1 to 10000')
    .optional()
    .describe('a calibration older than this counts as stale; default never'),
  channels: z
    .array(channelCheck)
    .min(1, 'at least one channel')
    .max(500, 'at most 500 channels')
    .describe('what is looked at'),
});

export const sweepChannel = map({
  parameter: parameterId.describe('position as fed back'),
  command: parameterId.optional().describe('position as commanded; absent = none is sent'),
  rig: z
    .tuple([quantity, quantity], { error: 'two values, [low end, high end]' })
    .describe('ends of travel measured at rigging'),
  channels: z.array(parameterId).optional().describe('other parameters that measure the same position'),
});

export const controlSweep = map({
  travel: quantity.optional().describe('least share of the rig travel; default 98 %'),
  spread: quantity
    .optional()
    .describe('most difference between the channels of a position, share of the rig travel; default 1 %'),
  tracking: quantity.describe('most difference between position and command, share of the rig travel'),
  delay: duration.optional().describe('most time the position may be behind its command; default not judged'),
  hysteresis: quantity
    .optional()
    .describe('most width between the way up and the way down, share of the rig travel; default not judged'),
  missing: quantity.optional().describe('most samples that may be missing, share of those due; default 2 %'),
  channels: z
    .array(sweepChannel)
    .min(1, 'at least one actuator or control')
    .max(100, 'at most 100')
    .describe('each actuator or control'),
});

/** The two keys of readiness.yaml. */
export const checkKeys = {
  'morning check': morningCheck.optional().describe('what the telemetry of the aircraft is proven by before a flight'),
  'control sweep': controlSweep.optional().describe('what full travel of the controls is judged by'),
};
