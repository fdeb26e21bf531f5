/** How the kinds of vibration, loads and trends are written, from the file to a check stage that runs. */
import { describe, expect, it } from 'vitest';
import { measureUnit } from '../../protocol/limit-kinds.ts';
import { goodFiles, missionFolder } from '../../test/support/mission-folder.ts';
import { loadMission } from './load.ts';

const parameters = `  - {id: SEAT, name: Seat, unit: g, group: fast, format: f32, range: [-10, 10]}
  - {id: LINK, name: Pitch link, unit: N, group: fast, format: f32, range: [-9000, 9000]}
  - {id: LON, name: Stick fore and aft, unit: "%", group: main, format: f32, range: [0, 100]}
  - {id: TOT, name: Turbine outlet temperature, unit: degC, group: main, format: f32, range: [-50, 1200]}
  - {id: PULSE, name: Pulse on a control, unit: "1", group: main, format: u8, range: [0, 1]}
`;

/** Each as the README shows it, the unit of what it measures, and some of what is loaded. */
const written: [kind: string, text: string, unit: string, settings: Record<string, unknown>][] = [
  [
    'order',
    `parameter: SEAT
    tach: NR
    hundred percent: 392 rpm
    order: 2
    above: {caution: 0.25 g, warning: 0.3 g}`,
    'g',
    { ratio: 1, revolutions: 4, as: 'watched', 'hundred percent': 392 },
  ],
  [
    'order',
    `parameter: SEAT
    tach: NR
    hundred percent: 392 rpm
    ratio: 5.2
    order: 1
    as: velocity
    above: {caution: 0.4 in/s}`,
    'in/s',
    { ratio: 5.2 },
  ],
  [
    'off-harmonic',
    `parameter: SEAT
    tach: NR
    hundred percent: 392 rpm
    floor: 0.1 g
    controls: [LON]
    above: {warning: 5 %/s}`,
    '%/s',
    { from: 2, to: 8, window: 1_500_000, orders: 4, controls: ['LON'] },
  ],
  [
    'load',
    `parameter: LINK
    tach: NR
    hundred percent: 392 rpm
    measure: half-range
    above: {caution: 2000 N, warning: 2400 N}`,
    'N',
    { measure: 'half-range' },
  ],
  [
    'load',
    `parameter: LINK
    tach: NR
    hundred percent: 392 rpm
    measure: damage
    curve: [[2 kN, 10000000], [3 kN, 300000], [5 kN, 8000]]
    budget: 0.5 %
    above: {caution: 50 %, warning: 100 %}`,
    '%',
    {
      curve: [
        [2000, 1e7],
        [3000, 3e5],
        [5000, 8e3],
      ],
      budget: 0.5,
    },
  ],
  [
    'trend',
    `parameter: TOT
    window: 4 s
    toward: 860 degC
    below: {caution: 3 s}`,
    's',
    { window: 4_000_000, toward: 860, reached: 'rising' },
  ],
  [
    'damping',
    `parameter: SEAT
    measure: damping
    mode: 3.1 Hz
    after: "PULSE == 1"
    tach: NR
    hundred percent: 392 rpm
    below: {caution: 0.04, warning: 0.03}`,
    '1',
    { mode: 3.1, width: 20, window: 2_000_000, orders: 4 },
  ],
  [
    'damping',
    `parameter: SEAT
    measure: proximity
    mode: 12.4 Hz
    tach: NR
    hundred percent: 392 rpm
    below: {caution: 5 %}`,
    '%',
    { measure: 'proximity' },
  ],
];

describe('limits of vibration, loads and trends, as they are written', () => {
  it.each(written)('of kind %s: %s', (kind, text, unit, settings) => {
    const limit = `  - id: one
    kind: ${kind}
    ${text}
    first action: Do what is due
    watcher: rotor and loads
    time to consequence: 20 s
    source: test limits
`;
    const groups = goodFiles['parameters.yaml'].replace('groups:\n', 'groups:\n  - {id: fast, rate: 1000}\n');
    const { value, findings } = loadMission(
      missionFolder({ 'parameters.yaml': groups + parameters, 'limits.yaml': goodFiles['limits.yaml'] + limit }),
    );
    expect(findings).toEqual([]);
    const one = value?.mission.limits.find(({ id }) => id === 'one');
    expect(one).toMatchObject({ kind, settings });
    const watched = value?.mission.parameters.find(({ id }) => id === one?.parameter)?.unit ?? '';
    expect(one && measureUnit(one, watched)).toBe(unit);
  });
});
