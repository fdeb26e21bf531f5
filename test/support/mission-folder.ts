/** A small mission folder that has nothing wrong with it, for tests that put something wrong into it. */
import { mkdirSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { temporaryFolder } from './temporary-folder.ts';

export const goodFiles = {
  'mission.yaml': `name: Small
stream: SMALL
aircraft:
  name: Small one
  software id: S-1
  configuration id: C-1
receivers:
  - name: North
people:
  - id: td
    name: Ines Arkwright
    position: test director
words:
  class 1: [KNOCK IT OFF]
  class 2: [STOP TEST]
`,
  'parameters.yaml': `groups:
  - {id: main, rate: 100}
  - {id: slow, rate: 2, stale after: 4 s}
parameters:
  - id: NR
    name: Rotor speed
    unit: "%"
    group: main
    format: i16
    calibration: {polynomial: [0, 0.01], source: sheet 1, date: 2026-10-01}
    range: [0, 130]
    decimals: 1
  - {id: IAS, name: Indicated airspeed, unit: kt, group: main, format: f32}
  - {id: OAT, name: Outside air temperature, unit: degC, group: slow, format: i16, calibration: {table: [[0, -50], [1000, 50]], source: sheet 2, date: 2026-10-01}}
  - {id: DISCRETES, name: Discrete word, unit: "1", group: main, format: u8}
  - {id: SKID, name: Left skid, unit: "1", group: main, calibration: {bits: {word: DISCRETES, shift: 0, width: 1, states: {0: up, 1: down}}}}
`,
  'derived.yaml': `derived:
  - id: IAS_MPS
    name: Indicated airspeed, metric
    unit: m/s
    driven by: IAS
    formula: IAS
`,
  'limits.yaml': `limits:
  - id: nr-low
    parameter: NR
    below: {caution: 97, warning: 95 %}
    persistence: 0.5 s
    hysteresis: 0.5
    first action: "NR low: collective down"
    watcher: rotor and loads
    time to consequence: 5 s
    source: test limits, issue 1
  - id: ias-high
    parameter: IAS
    above: {caution: 55 m/s}
    while: SKID
    first action: Slow down
    watcher: handling qualities
    source: test limits, issue 1
`,
  'pages.yaml': `pages:
  - id: conductor
    title: Conductor
    positions: [test conductor]
    rows:
      - height: 0.5
        elements:
          - {kind: strip chart, parameters: [NR, IAS], span: 30 s, width: 0.7}
          - {kind: states, parameters: [SKID], width: 0.3}
`,
};

export type MissionFiles = Partial<Record<string, string>>;

/** Writes the good files into a new folder, with those of `changed` in their place; '' leaves a file out. */
export function missionFolder(changed: MissionFiles = {}): string {
  const folder = temporaryFolder();
  for (const [name, text] of Object.entries({ ...goodFiles, ...changed })) {
    if (text === undefined || text === '') continue;
    mkdirSync(dirname(join(folder, name)), { recursive: true });
    writeFileSync(join(folder, name), text);
  }
  return folder;
}
