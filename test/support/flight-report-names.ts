/** The words of a report for tests of its layout, and what its limits saw. */
import type { LimitSight, ReportNames } from '../../protocol/report.ts';

const limits: ReportNames['limits'] = [
  { id: 'tq-high', text: 'Torque', parameter: 'TQ', unit: '%', family: 'aircraft' },
  { id: 'nr-low', text: 'Rotor speed', parameter: 'NR', unit: '%', family: 'aircraft' },
  { id: 'seat-two-per-rev', text: 'Seat vibration, two a turn', parameter: 'VIB_SEAT', unit: 'g', family: 'aircraft' },
  { id: 'vne', text: 'Airspeed against never-exceed speed', parameter: 'IAS', unit: 'kt', family: 'aircraft' },
];

export const namesOfReport = (): ReportNames => ({
  parameters: [
    { id: 'TQ', name: 'Torque', unit: '%', decimals: 1 },
    { id: 'NR', name: 'Rotor speed', unit: '%', decimals: 1 },
    { id: 'IAS', name: 'Airspeed', unit: 'kt', decimals: null },
  ],
  limits,
  maintenance: [{ id: 'rotor-overspeed', text: 'Rotor overspeed' }],
  cards: [{ id: 'level', title: 'Card 2: level flight' }],
  points: [
    { id: 'S2-080', title: 'Level at 80 kt', card: 'level' },
    { id: 'S2-090', title: 'Level at 90 kt', card: 'level' },
  ],
  families: [
    {
      ...{ id: 'speed-build-up', title: 'Level flight, vibration', of: 'airspeed', unit: 'kt' },
      measures: [{ id: 'seat-two-per-rev', title: 'Vibration at the seat', unit: 'g', side: 'above' }],
    },
  ],
});

export const sightOfReport = (flight: number): LimitSight[] =>
  limits.map(({ id }) => ({ limit: id, seen: flight, unseen: 0, off: 0 }));
