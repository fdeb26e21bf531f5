import { describe, expect, it } from 'vitest';
import { findingText } from '../../protocol/finding.ts';
import type { Limit } from '../../protocol/limit.ts';
import { compileCheck } from '../../station/check/check.ts';
import { loadMission } from '../../station/mission/load.ts';
import { goodFiles, missionFolder } from '../support/mission-folder.ts';

// with a rule of validity for each, as the pack check wants
const parameters = `${goodFiles['parameters.yaml'].replace('kt, group', 'kt, range: [0, 200], group').replace('degC, group', 'degC, range: [-60, 60], group')}  - {id: TQ, name: Torque, unit: "%", range: [-400, 2000], group: main, format: f32}
  - {id: TOT, name: Turbine outlet temperature, unit: degC, range: [-400, 2000], group: main, format: f32}
  - {id: HDG_A, name: Heading A, unit: deg, range: [-400, 2000], group: main, format: f32}
  - {id: HDG_B, name: Heading B, unit: deg, range: [-400, 2000], group: main, format: f32}
  - {id: ACT_1, name: Actuator 1, unit: "%", range: [-400, 2000], group: main, format: f32}
  - {id: ACT_2, name: Actuator 2, unit: "%", range: [-400, 2000], group: main, format: f32}
  - {id: ACT_2_CMD, name: Actuator 2 command, unit: "%", range: [-400, 2000], group: main, format: f32}
  - {id: ROLL_RATE, name: Roll rate, unit: deg/s, range: [-400, 2000], group: main, format: f32}
`;

const derived = `derived:
  - {id: VNE, name: Never-exceed speed, unit: kt, driven by: IAS, formula: "120[kt] - (if OAT > 30[degC] then 5[kt] else 0[kt])"}
  - {id: IAS_ESTIMATE, name: Airspeed from the inertial speed and the wind, unit: m/s, driven by: IAS, formula: IAS}
  - {id: SWASH_LATERAL, name: Swashplate tilt to the right, unit: "%", driven by: ACT_1, formula: ACT_1 - ACT_2}
`;

/** As a person would write them; id, first action, watcher and source are added. */
const written: Record<string, string> = {
  rate: 'kind: rate, parameter: NR, window: 0.5 s, below: {warning: -2}',
  'time at level':
    'kind: time at level, parameter: TQ, over: 100, up to: 110, count: whole flight, above: {caution: 270 s, warning: 5 min}',
  peak: 'kind: peak, parameter: TOT, steps: [830, 860, 880], above: {caution: 830, warning: 860}',
  depends: 'kind: depends, parameter: IAS, on: VNE, above: {caution: -5, warning: 0}, persistence: 0.5 s',
  miscompare:
    'kind: miscompare, parameter: HDG_A, channels: [HDG_A, HDG_B], wraps: 360 deg, filter: 0.3 s, above: {caution: 2}',
  plausibility: 'kind: plausibility, parameter: IAS, estimate: IAS_ESTIMATE, above: {caution: 10}, persistence: 3 s',
  'control margin':
    'kind: control margin, parameter: ACT_1, actuators: [ACT_1, ACT_2], stops: [[0, 100], [0, 100]], mixed: [SWASH_LATERAL], mixed stops: [[-60, 60]], below: {caution: 10, warning: 5}',
  tracking:
    'kind: tracking, parameter: ACT_2, command: ACT_2_CMD, frequency: 7.2 Hz, damping: 0.8, rate limit: 95 %/s, low stop: 0, high stop: 100, above: {caution: 2.5, warning: 5}, persistence: 0.2 s',
  saturation: 'kind: saturation, parameter: ACT_2, rate limit: 95 %/s, above: {caution: 50}',
  oscillation:
    'kind: saturation, parameter: ROLL_RATE, of: pilot band, command: ACT_2_CMD, above: {caution: 6 deg/s}, persistence: 2 s',
};

const limitsFile = (texts: Record<string, string>): string =>
  `limits:\n${Object.entries(texts)
    .map(([id, text]) => {
      const rest =
        'first action: say it, watcher: flight control, watched actively: false, time to consequence: 10 s, source: test limits';
      return `  - {id: ${id.replaceAll(' ', '-')}, ${text}, ${rest}}\n`;
    })
    .join('')}`;

const load = (texts: Record<string, string>) =>
  loadMission(
    missionFolder({ 'parameters.yaml': parameters, 'derived.yaml': derived, 'limits.yaml': limitsFile(texts) }),
  );

describe('limits of kinds that measure something, in limits.yaml', () => {
  it('are read with units and defaults, and compile', () => {
    const { value, findings } = load(written);
    expect(findings.map(findingText)).toEqual([]);
    const mission = value?.mission;
    if (!mission) throw new Error('nothing is loaded');
    const { findings: checked } = compileCheck(mission);
    expect(checked.map(findingText)).toEqual([]);
    const settings = (id: string): Limit['settings'] => mission.limits.find((limit) => limit.id === id)?.settings;
    expect(settings('rate')).toEqual({ window: 500_000 });
    expect(settings('time-at-level')).toEqual({ over: 100, 'up to': 110, count: 'whole flight', margin: 0 });
    expect(mission.limits.find(({ id }) => id === 'time-at-level')?.above).toEqual({ caution: 270, warning: 300 });
    expect(settings('peak')).toEqual({ of: 'highest', steps: [830, 860, 880] });
    expect(settings('miscompare')).toEqual({ channels: ['HDG_A', 'HDG_B'], wraps: 360, filter: 300_000 });
    expect(settings('tracking')).toMatchObject({ 'rate limit': 95, delay: 0, 'high stop': 100 });
    expect(settings('saturation')).toEqual({ of: 'rate', 'rate limit': 95, share: 95, 'slope over': 50_000 });
    expect(settings('oscillation')).toMatchObject({ of: 'pilot band', command: 'ACT_2_CMD' });
  });

  it('are refused at the setting that cannot be', () => {
    const wrong: Record<string, string> = {
      rate: (written.rate as string).replace('0.5 s', '1 ms'),
      miscompare: (written.miscompare as string).replace('[HDG_A, HDG_B]', '[HDG_B, NR]'),
      tracking: (written.tracking as string).replace('command: ACT_2_CMD', 'command: ROLL_RATE'),
    };
    const loaded = load({ rate: wrong.rate as string });
    const mission = loaded.value?.mission;
    const [finding] = mission ? compileCheck(mission).findings : loaded.findings;
    expect(finding && findingText(finding)).toMatch(/limits\.yaml:2:\d+: bad-value: found limit rate: window 0\.001 s/);
    for (const id of ['miscompare', 'tracking']) {
      const { findings } = load({ [id]: wrong[id] as string });
      expect(findings.map(findingText).join()).toContain('unit-clash');
    }
  });
});
