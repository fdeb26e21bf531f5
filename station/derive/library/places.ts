/** Functions that look things up by place or by table. */
import type { Boundary, Table } from '../../../protocol/table.ts';
import { boundaryView, LONGEST_TIME } from '../../compute/geometry.ts';
import { declination, FIRST_YEAR, LAST_YEAR } from '../../compute/magnetic.ts';
import { tableFunction } from '../../compute/table.ts';
import { arg, type Argument, type FormulaFunction, made, type Thing } from '../function.ts';

const latitude = arg('latitude', 'deg');
const longitude = arg('longitude', 'deg');
const boundary: Argument = { name: 'NAME', unit: '', thing: 'boundary' };
const karney = 'WGS 84 geodesics, Karney 2013';

export const places: readonly FormulaFunction[] = [
  {
    name: 'table',
    // one value for each axis, in its unit: unit-check.ts puts the axes of the table here
    args: [{ name: 'NAME', unit: '', thing: 'table' }, arg('value', 'any')],
    repeats: 1,
    result: '1',
    summary: 'value of a table of the mission, straight lines between its points, in the unit of the table',
    detail: 'beyond the ends no value, or the one at the edge where the table says so',
    source: 'linear interpolation, along both axes where there are two',
    work: { kind: 'made', make: (thing) => tableFunction(thing as Table) },
  },
  made(
    'boundary_distance',
    [boundary, latitude, longitude],
    'm',
    { kind: 'made', make: (thing) => boundaryView(thing as Boundary).distance },
    {
      summary: 'distance to the nearest side of a boundary of the mission; negative on the wrong side',
      source: karney,
    },
  ),
  made(
    'boundary_time',
    [boundary, latitude, longitude, arg('track', 'deg'), arg('ground speed', 'm/s')],
    's',
    { kind: 'made', make: (thing) => boundaryView(thing as Boundary).time },
    {
      summary: 'time until the boundary is crossed, straight on; 0 on the wrong side',
      detail: `${LONGEST_TIME} s where it is not crossed sooner`,
      source: karney,
    },
  ),
  made(
    'magnetic_declination',
    [
      latitude,
      longitude,
      arg('altitude', 'm'),
      { name: 'year', unit: '1', setting: { from: FIRST_YEAR, to: LAST_YEAR } },
    ],
    'deg',
    { kind: 'made', make: (_: Thing | undefined, [year]: readonly number[]) => declination(year as number) },
    {
      summary: 'angle from true to magnetic north, east positive',
      detail: `year with decimals, ${FIRST_YEAR} to ${LAST_YEAR}; costs some 10 microseconds a sample`,
      source: 'World Magnetic Model 2025 (NOAA, BGS)',
    },
  ),
];
