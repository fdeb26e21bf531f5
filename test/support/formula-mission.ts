/** A mission for tests of formulas: parameters of several units and two rate groups, derived ones as the test wants. */
import type { Mission } from '../../protocol/mission.ts';
import { derived, group, mission, parameter } from './tiny-mission.ts';

const parameters = [
  parameter('IAS', 'main', { unit: 'kt' }),
  parameter('ALT', 'main', { unit: 'ft' }),
  parameter('OAT', 'main', { unit: 'degC' }),
  parameter('P_STATIC', 'main', { unit: 'hPa' }),
  parameter('NR', 'main', { unit: '%' }),
  parameter('A', 'main'),
  parameter('B', 'main'),
  parameter('C', 'main'),
  parameter('PITCH', 'main', { unit: 'deg' }),
  parameter('MODE', 'main', { calibration: { kind: 'states', states: { 0: 'ground', 1: 'air', 3: 'air' } } }),
  parameter('LAT', 'slow', { unit: 'deg' }),
  parameter('LON', 'slow', { unit: 'deg' }),
];
export const received = parameters.map(({ id }) => id);

export type Wanted = { formula: string; unit?: string; drivenBy?: string; states?: Record<string, string> };

export const missionOf = (...wanted: Wanted[]): Mission =>
  mission({
    groups: [group('main', 100, 200_000), group('slow', 10, 500_000)],
    parameters,
    derived: wanted.map(({ formula, unit = '1', drivenBy = 'main', states }, i) =>
      derived(`D${i}`, drivenBy, formula, {
        unit,
        place: { file: 'derived.yaml', line: 10 + i, column: 20 },
        ...(states && { states }),
      }),
    ),
  });
