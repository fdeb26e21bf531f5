/** Functions of mass, centre of gravity and control travel. */
import * as mass from '../../compute/mass.ts';
import { arg, type FormulaFunction, plain, repeated } from '../function.ts';

const moments = 'sum of moments, FAA-H-8083-1B';

export const massFunctions: readonly FormulaFunction[] = [
  repeated(
    plain('gross_mass', [arg('mass', 'kg')], 'kg', mass.grossMass, {
      summary: 'mass of all parts together',
      source: moments,
    }),
  ),
  repeated(
    plain('cg', [arg('mass', 'kg'), arg('arm', 'm')], 'm', mass.centreOfGravity, {
      summary: 'centre of gravity: moments over masses, of mass and arm by turns',
      detail: 'an arm may come from a table of the fuel; a part taken out has a negative mass',
      source: moments,
    }),
    2,
  ),
  plain(
    'control_margin',
    [arg('position', 'x'), arg('low stop', 'x'), arg('high stop', 'x')],
    '1',
    mass.controlMargin,
    {
      summary: 'way left to the nearest stop over the whole way: 50 % in the middle, negative beyond',
      detail: 'no value unless low stop is below high stop',
    },
  ),
];
