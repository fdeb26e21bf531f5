/** Settings that are refused make no measure, so that nothing runs half set up. */
import { describe, expect, it } from 'vitest';
import { limitOf } from '../../../test/support/limit-flight.ts';
import { group, mission, parameter } from '../../../test/support/tiny-mission.ts';
import type { Limit, SettingValue } from '../../../protocol/limit.ts';
import { kindsAtWork } from '../kinds.ts';
import type { CompileMeasure, MeasureContext } from '../measured.ts';

const units: Record<string, string> = { kg: 'kg', flow: 'kg/h', deg: 'deg', ft: 'ft', kt: 'kt', g: 'g', s: 's' };

function made(kind: Limit['kind'], of: string, settings: Record<string, SettingValue>) {
  const { measure } = kindsAtWork[kind] as unknown as { measure: CompileMeasure<never> };
  let findings = 0;
  const context: MeasureContext = {
    mission: mission({
      groups: [group('main', 100)],
      parameters: Object.entries(units).map(([id, unit]) => parameter(id, 'main', { unit })),
      boundaries: [
        {
          id: 'R',
          name: 'R',
          keep: 'inside',
          points: [
            [0, 0],
            [1, 0],
            [1, 1],
          ],
        },
      ],
    }),
    group: group('main', 100),
    finding: () => findings++,
  };
  const measuring = measure(limitOf('k', kind, of, { settings }) as never, context);
  return { isMade: measuring !== undefined, findings };
}

const mass = { empty: 1, 'empty CG': 1, tanks: ['kg'], arms: [1] };
const place = { boundary: 'R', latitude: 'deg', longitude: 'deg' };
const glide = { 'glide speed': 30, 'glide descent': 10 };
const region = {
  corners: [
    [0, 0],
    [0, 1],
    [1, 0],
  ],
  speed: 'kt',
};
const ring = { 'forward speed': 'kt', mass: 'kg', 'density altitude': 'ft', radius: 5, measure: 'time to region' };

describe('settings that are refused', () => {
  it.each<[Limit['kind'], string, Record<string, SettingValue>]>([
    ['mass', 'kg', { ...mass, measure: 'CG', arms: [1, 2] }],
    ['mass', 'kg', { ...mass, measure: 'CG', tanks: ['kt'] }],
    ['mass', 'kg', { ...mass, measure: 'time to CG', 'fuel flow': 'flow' }],
    ['mass', 'kg', { ...mass, measure: 'time to CG', 'CG limit': 1 }],
    ['mass', 'kg', { ...mass, measure: 'time to CG', 'CG limit': 1, 'fuel flow': 'flow', 'feed tank': 2 }],
    ['mass', 'kg', { ...mass, measure: 'time to fuel', 'fuel flow': 'flow' }],
    ['mass', 'kg', { ...mass, measure: 'time to fuel', 'fuel limit': 1 }],
    ['mass', 'kg', { ...mass, measure: 'time to fuel', 'fuel limit': 1, 'fuel flow': 'kg' }],
    ['mass', 'kg', { ...mass, measure: 'gauge difference' }],
    ['containment', 'kt', { ...place, boundary: 'X' }],
    ['containment', 'kt', { ...place, measure: 'time', track: 'deg' }],
    ['containment', 'kt', { ...place, measure: 'time', 'ground speed': 'kt' }],
    ['containment', 'kt', { ...place, measure: 'distance', latitude: 'kt' }],
    ['containment', 'kt', { ...place, measure: 'footprint', ...glide }],
    ['containment', 'kt', { ...place, measure: 'footprint', height: 'ft', 'glide speed': 30 }],
    ['containment', 'kt', { ...place, measure: 'footprint', height: 'ft', ...glide, 'wind speed': 'kt' }],
    [
      'height-velocity',
      'ft',
      {
        ...region,
        corners: [
          [0, 0],
          [0, 1],
          [0, 2],
        ],
      },
    ],
    ['height-velocity', 'ft', { ...region, 'height factor': 'X' }],
    ['height-velocity', 'ft', { ...region, 'speed factor': 'X' }],
    ['height-velocity', 'kt', region],
    ['vortex ring', 'kt', { ...ring, window: 1 }],
    ['vortex ring', 'kg', ring],
    ['low g', 's', {}],
    ['low g', 'g', { measure: 'nz rate', window: 1 }],
    ['low g', 'g', { measure: 'flapping', flapping: 'deg' }],
    ['low g', 'g', { measure: 'flapping', flapping: 'kt', 'flapping stop': 1 }],
    ['low g', 'g', { measure: 'right roll' }],
    ['low g', 'g', { measure: 'protection', protection: 's' }],
    ['low g', 'g', { measure: 'protection', 'protection by': 0.6 }],
  ])('make no measure of kind %s on %s with %j', (kind, of, settings) => {
    const { isMade, findings } = made(kind, of, settings);
    expect(isMade).toBe(false);
    expect(findings).toBeGreaterThan(0);
  });

  it.each<[Limit['kind'], string, Record<string, SettingValue>]>([
    ['mass', 'kg', { ...mass, measure: 'time to CG', 'CG limit': 1, 'fuel flow': 'flow' }],
    ['mass', 'kg', { ...mass, measure: 'time to fuel', 'fuel limit': 1, 'fuel flow': 'flow' }],
    ['containment', 'kt', { ...place, measure: 'footprint', height: 'ft', ...glide }],
    ['containment', 'kt', { ...place, measure: 'time', 'ground speed': 'kt', track: 'deg' }],
    ['height-velocity', 'ft', region],
    ['vortex ring', 'kt', ring],
    ['low g', 'g', { measure: 'flapping', flapping: 'deg', 'flapping stop': 1 }],
  ])('are none of these: kind %s on %s with %j', (kind, of, settings) => {
    expect(made(kind, of, settings)).toEqual({ isMade: true, findings: 0 });
  });
});
