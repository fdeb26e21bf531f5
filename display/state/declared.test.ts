import { describe, expect, it } from 'vitest';
import { catalogue, searchedText, searchFor } from '../../protocol/catalogue.ts';
import { columnIds } from '../../protocol/mission.ts';
import { derived, group, mission, parameter } from '../../test/support/tiny-mission.ts';
import { declareColumns, searchColumns } from './declared.ts';

const flight = mission({
  groups: [group('main', 100), group('slow', 10)],
  parameters: [
    parameter('NR', 'main', { name: 'Rotor speed', unit: '%', description: 'At the gearbox' }),
    parameter('TQ', 'main', { name: 'Torque', unit: '%', calibrationSource: 'bench sheet 9' }),
    parameter('IAS', 'slow', { name: 'Indicated airspeed', unit: 'kt' }),
  ],
  derived: [derived('SPARE', 'NR', 'NR - 95[%]', { name: 'To spare', unit: '%' })],
});
const columns = declareColumns(flight);
const found = (question: string) => searchColumns(columns, question).map(({ id }) => id);

describe('the search of the table', () => {
  it('wants every word, in whatever the mission says of a parameter, whatever the case', () => {
    expect(found('')).toEqual(columnIds(flight));
    expect(found('ROTOR')).toEqual(['NR']);
    expect(found('% torq')).toEqual(['TQ']);
    expect(found('% main')).toEqual(['NR', 'TQ', 'SPARE']);
    expect(found('speed kt')).toEqual(['IAS']);
    expect(found('gearbox')).toEqual(['NR']);
    expect(found('sheet 9')).toEqual(['TQ']);
    expect(found('= nr')).toEqual(['SPARE']);
    expect(found('nothing like it')).toEqual([]);
  });

  it('finds what the API finds', () => {
    for (const question of ['speed', 'main %', '10/s', 'received', 'NR', '95']) {
      const fits = searchFor(question);
      const told = catalogue(flight).filter((entry) => fits(searchedText(entry)));
      expect(found(question)).toEqual(told.map(({ id }) => id));
      expect(told.length).toBeGreaterThan(0);
    }
  });
});
