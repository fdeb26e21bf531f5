/** Shape of readiness.yaml, the checks of checks-schema.ts apart: what is to be true before a flight. */
import { z } from 'zod';
import { map, parameterId, position, quantity, shortId, words } from './written.ts';

const arm = quantity.describe('m behind the datum');
const lateral = quantity.optional().describe('m right of the middle, negative to the left; default 0');
const kilograms = (of: string) => quantity.describe(`${of}, kg`);

export const notice = map({
  id: shortId.describe('what the record carries'),
  title: words(120).describe('what changed, in a few words'),
  text: words(2000).describe('what everybody must know of it'),
});

export const watch = map({
  position: position.describe('who watches; somebody of the mission must sit there'),
  limits: z.array(shortId).describe('ids of limits, at most four'),
});

const loadItem = map({
  id: shortId,
  name: words(80).describe('what it is in words'),
  mass: kilograms('its mass'),
  arm,
  lateral,
});

const tank = map({
  id: shortId,
  name: words(80).describe('what it is in words'),
  parameter: parameterId.describe('how much is in it, a mass'),
  capacity: kilograms('fuel it can hold'),
  arm,
  lateral,
});

const planned = map({
  name: words(80).describe('when it is, like Take-off'),
  fuel: z.record(shortId, kilograms('fuel in the tank')).describe('fuel in every tank, by the id of the tank'),
});

export const weight = map({
  items: z
    .array(loadItem)
    .min(1, 'at least one item')
    .max(100, 'at most 100 items')
    .describe('the empty aircraft and all that is in it but fuel'),
  tanks: z.array(tank).max(20, 'at most 20 tanks').describe('where fuel is'),
  envelope: z
    .array(z.tuple([quantity, quantity], { error: 'a corner, [arm, mass]' }))
    .min(3, 'at least three corners')
    .max(100, 'at most 100 corners')
    .describe('corners [arm in m, mass in kg] of the test envelope in order; the last one is joined to the first'),
  lateral: quantity.optional().describe('most lateral centre of gravity either way, m; absent = not limited'),
  planned: z
    .array(planned)
    .max(20, 'at most 20 fuel states')
    .describe('planned fuel states in the order of burning; between two of them all tanks go straight'),
  'knock-off fuel': kilograms('fuel at which the test is knocked off').optional(),
  flow: parameterId.optional().describe('fuel flow, which gives the time to knock-off fuel'),
});

const number = z.number({ error: 'a number in the unit of what the limit measures' });
export const release = map({
  'software id': words(80).describe('of the aircraft it was released for'),
  'configuration id': words(80).describe('of the aircraft it was released for'),
  'baseline id': z
    .string()
    .regex(/^[0-9a-f]{64}$/, 'the 64 hexadecimal digits that groundchase check tells')
    .describe('of the pack that was released'),
  limits: z
    .record(shortId, z.record(z.string(), number))
    .describe(
      'values of its limits, by id: above or below with a level, like above caution, persistence (s), hysteresis',
    ),
});

/** The keys of readiness.yaml beside those of the checks. */
export const readinessKeys = {
  notices: z
    .array(notice)
    .max(50, 'at most 50 notices')
    .optional()
    .describe('changes of the aircraft that every manned position acknowledges'),
  watch: z
    .array(watch)
    .optional()
    .describe('who actively watches what when the day begins; absent = every limit its watcher'),
  weight: weight.optional().describe('mass, balance and fuel against the test envelope'),
  releases: z
    .array(release)
    .max(50, 'at most 50 releases')
    .optional()
    .describe('packs as they were released, written by groundchase check --release'),
};
