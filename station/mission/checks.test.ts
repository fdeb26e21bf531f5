import { describe, expect, it } from 'vitest';
import { SECOND } from '../../protocol/time.ts';
import { missionFolder } from '../../test/support/mission-folder.ts';
import { loadMission } from './load.ts';

const plan = (readiness: string) => {
  const parameters = `groups:
  - {id: main, rate: 100}
parameters:
  - {id: LINK, name: Pitch link load, unit: N, group: main, format: f32}
  - {id: OAT, name: Outside air, unit: degC, group: main, format: f32}
  - {id: POS, name: Position, unit: deg, group: main, format: f32}
  - {id: SECOND_POS, name: Position, second channel, unit: deg, group: main, format: f32}
  - {id: CMD, name: Command, unit: deg, group: main, format: f32}
`.replace('Position, second channel', 'Second position');
  const twice = 'derived:\n  - {id: TWICE, name: Twice, unit: deg, driven by: POS, formula: 2 * POS}\n';
  const files = {
    'derived.yaml': twice,
    'parameters.yaml': parameters,
    'limits.yaml': 'limits: []\n',
    'pages.yaml': '',
  };
  const { value, findings } = loadMission(missionFolder({ ...files, 'readiness.yaml': readiness }));
  if (!value) throw new Error(findings.map(({ found, expected }) => `${found}, expected ${expected}`).join('\n'));
  return value.mission.readiness;
};

describe('the keys of readiness.yaml for the checks before a flight', () => {
  it('become the morning check, in the unit of each channel and in microseconds', () => {
    const morning = `morning check:
  gather: 4 s
  settle: 500 ms
  rate tolerance: 2 %
  time offset: 250 ms
  time drift: 20 ms
  calibration days: 365
  channels:
    - {parameter: LINK, zero tolerance: 0.02 kN, noise: [2, 12], shunt: 0.9 kN, shunt tolerance: 15, counts: {zero: 50, shunt: 3600}}
    - {parameter: OAT, zero: 288.15 K, zero tolerance: 2 K, noise: [0, 0.1]}
`;
    expect(plan(morning)?.morning).toEqual({
      gather: 4 * SECOND,
      settle: 0.5 * SECOND,
      calibrationDays: 365,
      rateTolerance: 0.02,
      timeOffset: 0.25 * SECOND,
      timeDrift: 0.02 * SECOND,
      channels: [
        {
          ...{ parameter: 'LINK', zero: 0, zeroTolerance: 20, noise: [2, 12], shunt: 900, shuntTolerance: 15 },
          counts: { zero: 50, shunt: 3600 },
          place: { file: 'readiness.yaml', line: 9, column: 7 },
        },
        {
          ...{ parameter: 'OAT', zero: 15, zeroTolerance: 2, noise: [0, 0.1] },
          place: { file: 'readiness.yaml', line: 10, column: 7 },
        },
      ],
    });
  });

  it('become the control sweep, with the usual shares where the file says none', () => {
    const sweep = `control sweep:
  tracking: 4 %
  channels:
    - {parameter: POS, command: CMD, rig: [-12, 18], channels: [SECOND_POS, TWICE]}
    - {parameter: CMD, rig: [-0.2 rad, 0.3 rad]}
`;
    const read = plan(sweep)?.sweep;
    expect(read).toMatchObject({ travel: 0.98, spread: 0.01, tracking: 0.04, missing: 0.02 });
    expect(read).not.toHaveProperty('delay');
    expect(read).not.toHaveProperty('hysteresis');
    expect(read?.channels[0]).toEqual({
      ...{ parameter: 'POS', command: 'CMD', rig: [-12, 18], channels: ['SECOND_POS', 'TWICE'] },
      place: { file: 'readiness.yaml', line: 4, column: 7 },
    });
    expect(read?.channels[1]?.rig[1]).toBeCloseTo(17.19, 2);
    const said = plan(
      sweep.replace(
        'tracking: 4 %',
        'tracking: 4 %\n  travel: 97 %\n  delay: 80 ms\n  hysteresis: 0.5 %\n  missing: 1 %',
      ),
    );
    expect(said?.sweep).toMatchObject({ travel: 0.97, delay: 0.08 * SECOND, hysteresis: 0.005, missing: 0.01 });
  });

  it('may be missing: then there is no such check', () => {
    expect(plan('notices: []\n')).toMatchObject({ notices: [] });
    expect(plan('notices: []\n')).not.toHaveProperty('morning');
    expect(plan('notices: []\n')).not.toHaveProperty('sweep');
  });
});
