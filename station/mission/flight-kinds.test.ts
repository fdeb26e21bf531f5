/** How the kinds of flight mechanics and of conditions are written, from the file to a check stage that runs. */
import { describe, expect, it } from 'vitest';
import { goodFiles, missionFolder } from '../../test/support/mission-folder.ts';
import { loadMission } from './load.ts';

const numbers = ['NZ', 'VZ', 'VX', 'MASS', 'DA', 'FWD', 'AFT', 'FLOW', 'LAT', 'LON', 'GS', 'TRK', 'HGT', 'FLAP', 'P'];
const units = ['g', 'ft/min', 'kt', 'kg', 'ft', 'kg', 'kg', 'kg/h', 'deg', 'deg', 'kt', 'deg', 'ft', 'deg', '1'];
const parameters = numbers
  .map(
    (id, i) =>
      `  - {id: ${id}, name: ${id}, unit: "${units[i]}", group: main, format: f32, range: [-1000000, 1000000]}\n`,
  )
  .join('');

const tables = `tables:
  - id: HV_HEIGHT
    name: Growth of the height-velocity region
    unit: "1"
    axes:
      - {name: density altitude, unit: ft, at: [0, 8000]}
      - {name: mass, unit: kg, at: [1300, 1700]}
    values: [[1, 1.1], [1.3, 1.5]]
    source: test
    date: 2026-10-01
boundaries:
  - id: RANGE
    name: Range
    keep: inside
    points: [[45, -30], [45.1, -30], [45.1, -29.9], [45, -29.9]]
    source: test
`;

const phases = `parameter: PHASE
driven by: main
hold: 2 s
phases:
  - {id: ground, name: Ground, then: [{to: hover, when: "HGT > 3[ft]", for: 0.5 s}]}
  - {id: hover, name: Hover, then: [{to: ground, when: "HGT < 2[ft]", for: 0.5 s}]}
`;

/** Each as the README shows it. */
const written: Record<string, string> = {
  'by phase': `parameter: NR
    by phase:
      ground: {above: {caution: 102 %}}
      hover: {below: {caution: 97 %, warning: 95 %}, above: {caution: 102 %}}
    persistence: 0.5 s`,
  'height-velocity': `parameter: HGT
    speed: VX
    corners: [[0 kt, 12 ft], [0 kt, 420 ft], [22 kt, 330 ft], [48 kt, 140 ft], [26 kt, 36 ft]]
    density altitude: DA
    mass: MASS
    height factor: HV_HEIGHT
    above: {caution: 1 s, warning: 3 s}`,
  'vortex ring': `parameter: VZ
    forward speed: VX
    mass: MASS
    density altitude: DA
    radius: 5.4 m
    above: {caution: 0.35, warning: 0.45}
    persistence: 0.5 s`,
  'low g': `parameter: NZ
    measure: protection
    protection: SKID
    protection by: 0.6 g
    above: {warning: 0 g}`,
  containment: `parameter: GS
    boundary: RANGE
    latitude: LAT
    longitude: LON
    ground speed: GS
    track: TRK
    longest without position: 5 s
    below: {caution: 15 s, warning: 8 s}`,
  mass: `parameter: FWD
    measure: time to CG
    empty: 1370 kg
    empty CG: 2.493 m
    tanks: [FWD, AFT]
    arms: [2.35 m, 3.55 m]
    fuel flow: FLOW
    feed tank: 1
    CG limit: 2.555 m
    below: {caution: 25 min}`,
  automation: `parameter: NR
    if: "NR < 97[%]"
    then: SKID
    within: 0.35 s
    level: warning`,
  sequence: `parameter: NR
    begins: SKID
    steps:
      - {name: light, when: "NR > 10[%]", within: 5 s}
      - {name: idle, when: "NR > 60[%]", within: 20 s}
    level: caution`,
  validity: `parameter: NR
    parameters: [NR, IAS]
    reason: frozen
    level: caution
    persistence: 1 s`,
  logic: `parameter: NR
    when: "nr-low at warning and not (ias-high or nr-low)"
    level: warning
    persistence: 0.3 s`,
  'card stop': `parameter: NR
    inside: nr-low
    below: {stop: 96 %}`,
};

function load(kind: string, text: string) {
  const limit = `  - id: one
    kind: ${kind}
    ${text}
    first action: Do what is due
    watcher: test director
    time to consequence: 20 s
    author: Ines Arkwright
    approver: Tomas Brandreth
    source: test limits
`;
  return loadMission(
    missionFolder({
      'parameters.yaml': goodFiles['parameters.yaml'] + parameters,
      'tables.yaml': tables,
      'phases.yaml': phases,
      'limits.yaml': goodFiles['limits.yaml'] + limit,
    }),
  );
}

describe('limits of flight mechanics and of conditions, as they are written', () => {
  it.each(Object.entries(written))('of kind %s', (kind, text) => {
    const { value, findings } = load(kind, text);
    expect(findings).toEqual([]);
    expect(value?.mission.limits.find(({ id }) => id === 'one')?.kind).toBe(kind);
  });
});
