/** A small invented mission for the browser tests: one page of every element kind, a second page, and many parameters. */
import type { Limit } from '../../protocol/limit.ts';
import type { Mission } from '../../protocol/mission.ts';
import type { Parameter } from '../../protocol/parameter.ts';

const parameter = (
  id: string,
  name: string,
  unit: string,
  group: string,
  more: Partial<Parameter> = {},
): Parameter => ({
  id,
  name,
  unit,
  group,
  format: 'i16',
  calibration: { kind: 'polynomial', coefficients: [0, 0.01] },
  calibrationSource: 'bench sheet 3',
  decimals: 1,
  ...more,
});

const level = (id: string, of: string, more: Partial<Limit>): Limit => ({
  id,
  kind: 'level',
  parameter: of,
  persistence: 500_000,
  hysteresis: 0.5,
  firstAction: 'tell the pilot',
  watcher: 'test conductor',
  source: 'invented for the tests',
  ...more,
});

export const smallMission: Mission = {
  baselineId: '5f1d0c7a9be3'.padEnd(64, '0'),
  name: 'Browser tests',
  stream: 'SM1X',
  aircraft: { name: 'Sedgemerle SM-1X', softwareId: 'FCC-4.2', configurationId: 'SM1X-A7' },
  receivers: [{ name: 'North' }, { name: 'South' }],
  people: [
    { id: 'td', name: 'Ottoline Marsk', position: 'test director' },
    { id: 'tc', name: 'Bram Tolliver', position: 'test conductor' },
    { id: 'rl', name: 'Ilse Corrand', position: 'rotor and loads' },
  ],
  words: {
    class1: ['KNOCK IT OFF', 'ABORT ABORT ABORT'],
    class2: ['STOP TEST'],
    start: ['ABORT START'],
    range: ['TERMINATE'],
  },
  phases: {
    parameter: 'PHASE',
    phases: [
      { id: 'start', name: 'Start', transitions: [{ to: 'hover', when: 'AIRBORNE', for: 0 }] },
      { id: 'hover', name: 'Hover', transitions: [] },
    ],
    hold: 5_000_000,
  },
  groups: [
    { id: 'main', rate: 100, staleAfter: 500_000 },
    { id: 'slow', rate: 5, staleAfter: 600_000 },
  ],
  parameters: [
    parameter('NR', 'Rotor speed', '%', 'main', { physicalRange: [0, 130] }),
    parameter('TQ', 'Torque', '%', 'main', { physicalRange: [0, 130] }),
    parameter('TOT', 'Turbine outlet temperature', 'degC', 'main', { physicalRange: [0, 1000], decimals: 0 }),
    parameter('PITCH', 'Pitch', 'deg', 'main', { physicalRange: [-90, 90] }),
    parameter('ROLL', 'Roll', 'deg', 'main', { physicalRange: [-180, 180] }),
    parameter('HEADING', 'Heading', 'deg', 'main', { physicalRange: [0, 360], decimals: 0 }),
    parameter('IAS', 'Indicated airspeed', 'kt', 'slow', { physicalRange: [0, 160], decimals: 0 }),
    parameter('FUEL', 'Fuel', 'kg', 'slow', { physicalRange: [0, 250], decimals: 0 }),
    parameter('FCS_MODE', 'Flight control mode', '1', 'slow', {
      format: 'u8',
      calibration: { kind: 'states', states: { '0': 'ground', '1': 'air' } },
      decimals: 0,
    }),
    ...Array.from({ length: 300 }, (_, i) =>
      parameter(`STRAIN_${String(i + 1).padStart(3, '0')}`, `Strain gauge ${i + 1}`, 'N', 'main', {
        physicalRange: [-3000, 3000],
      }),
    ),
  ],
  derived: [
    {
      id: 'ROTOR_POWER',
      name: 'Rotor power',
      unit: 'kW',
      drivenBy: 'main',
      formula: 'NR * TQ * 0.02[kW]',
      decimals: 0,
    },
    {
      id: 'PHASE',
      name: 'Phase of flight',
      unit: '1',
      drivenBy: 'slow',
      formula: '1',
      decimals: 0,
      states: { '0': 'Start', '1': 'Hover' },
    },
    {
      id: 'AIRBORNE',
      name: 'Airborne',
      unit: '1',
      drivenBy: 'slow',
      formula: 'FCS_MODE',
      decimals: 0,
      condition: true,
    },
  ],
  limits: [
    level('nr-low', 'NR', {
      below: { caution: 97, warning: 95 },
      text: 'Rotor speed low',
      firstAction: 'NR low: collective down',
    }),
    level('nr-high', 'NR', {
      above: { caution: 104, warning: 107 },
      text: 'Rotor speed high',
      watcher: 'rotor and loads',
      timeToConsequence: 6,
    }),
    level('tq-high', 'TQ', { above: { caution: 100, warning: 110 }, text: 'Torque high' }),
    level('tot-high', 'TOT', { above: { advisory: 780, caution: 830, warning: 860 }, text: 'Turbine outlet hot' }),
    level('tq-rate', 'TQ', {
      kind: 'rate',
      settings: { window: 500_000 },
      above: { caution: 25 },
      text: 'Torque rising fast',
      phases: ['hover'],
    }),
    level('ias-stop', 'IAS', { above: { caution: 95, stop: 100 }, text: 'Airspeed of the card', stopClass: 1 }),
  ],
  pages: [
    {
      id: 'watch',
      title: 'Conductor',
      positions: ['test conductor'],
      rows: [
        {
          height: 0.36,
          elements: [
            {
              kind: 'strip chart',
              title: 'Rotor and torque',
              parameters: ['NR'],
              range: [80, 120],
              span: 20,
              width: 0.6,
            },
            { kind: 'tape', parameters: ['NR', 'TQ'], range: [0, 130], width: 0.2 },
            { kind: 'dial', parameters: ['TOT'], range: [0, 900], width: 0.2 },
          ],
        },
        {
          height: 0.36,
          elements: [
            { kind: 'strip chart', title: 'Torque and airspeed', parameters: ['TQ', 'IAS'], span: 60, width: 0.6 },
            { kind: 'attitude', title: 'Attitude', parameters: ['PITCH', 'ROLL', 'HEADING'], width: 0.4 },
          ],
        },
        {
          height: 0.28,
          elements: [
            { kind: 'number', title: 'Flight', parameters: ['IAS', 'FUEL', 'ROTOR_POWER'], width: 0.6 },
            { kind: 'states', title: 'Mode', parameters: ['FCS_MODE'], width: 0.4 },
          ],
        },
      ],
    },
    {
      id: 'second',
      title: 'Engine',
      positions: [],
      rows: [{ height: 1, elements: [{ kind: 'strip chart', parameters: ['TOT', 'TQ'], span: 30 }] }],
    },
  ],
};
