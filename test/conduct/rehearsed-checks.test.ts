/** The rehearsal aircraft's own morning, over the whole pipeline: frames, links, calibrations of the demonstration mission. */
import { beforeAll, describe, expect, it } from 'vitest';
import type { ConductAct, ReadinessView } from '../../protocol/conduct.ts';
import type { Mission } from '../../protocol/mission.ts';
import type { Injection, Scenario, Step } from '../../replay/rehearsal/scenario.ts';
import { shuntNames } from '../../replay/rehearsal/shunts.ts';
import { Pipeline } from '../../station/pipeline.ts';
import { demoFaults, lookFor, mornings } from '../support/demo-morning.ts';
import { type Act, flownEntries } from '../support/flown.ts';
import { demonstrationMission, scenarioFile } from '../support/rehearsal.ts';

let mission: Mission;
let scenario: Scenario;
beforeAll(() => {
  mission = demonstrationMission();
  scenario = scenarioFile('morning-check');
});

/** What the room does, by the times of the script: nothing applied from 4 s on, a shunt every 7 s from 12 s on, then the sweep. */
function acts(): Act[] {
  const by = (at: number, position: Act['position'], act: ConductAct, subject = '', choice = ''): Act => {
    const person = mission.people.find((one) => one.position === position)?.id ?? '';
    return { at, person, position, action: { act, subject, number: 0, choice, text: '', value: 0, aircraft: 0 } };
  };
  return [
    by(5, 'instrumentation', 'begin check', '', 'zero'),
    ...shuntNames.map((name, i) => by(13 + 7 * i, 'instrumentation', 'begin check', name, 'shunt')),
    by(62, 'instrumentation', 'end check'),
    by(64.2, 'flight control', 'begin sweep'),
    by(84.5, 'flight control', 'end sweep'),
  ];
}

/** Flies the scenario through a pipeline that gathers so much; what readiness says at the end. */
function flown(of: Scenario, gather = 0): Pick<ReadinessView, 'morning' | 'sweep'> {
  const pipeline = new Pipeline({ gather });
  for (const entry of flownEntries(mission, of, acts())) {
    const { results } = pipeline.step(entry);
    for (const { accepted, reason } of results) expect([accepted, reason]).toEqual([true, '']);
  }
  pipeline.flush();
  const readiness = pipeline.conduct()?.readiness;
  if (!readiness?.morning || !readiness.sweep) throw new Error('the demonstration mission has both checks');
  return readiness;
}

const faultsOf = ({ morning }: Pick<ReadinessView, 'morning'>, parameter: string): string[] =>
  morning?.channels.find((one) => one.parameter === parameter)?.faults ?? [];

describe('the rehearsed morning', { timeout: 60_000 }, () => {
  it('is healthy: every channel looked at for everything it has, every control through its travel', () => {
    for (const seed of [scenario.seed, 12, 13]) {
      const { morning, sweep } = flown({ ...scenario, seed });
      expect(morning).toMatchObject({ complete: true, faults: 0, timeFaults: [], gathering: '' });
      expect(morning?.ended?.position).toBe('instrumentation');
      expect(morning?.channels).toHaveLength(mission.readiness?.morning?.channels.length ?? 0);
      for (const { faults, cannotTell } of morning?.channels ?? []) expect([...faults, ...cannotTell]).toEqual([]);
      expect(sweep).toMatchObject({ done: true, running: false, faults: 0 });
      for (const { faults, cannotTell, travel, delay } of sweep?.channels ?? []) {
        expect([...faults, ...cannotTell]).toEqual([]);
        expect(travel).toBeGreaterThan(0.995);
        // of the invented actuator: twice its damping over its natural frequency, and a run of the computers
        expect(delay).toBeGreaterThan(0.02);
        expect(delay).toBeLessThan(0.06);
      }
    }
  });

  it('tells the same however the pipeline gathers', () => {
    const { morning, sweep } = flown(scenario);
    const gathered = flown(scenario, 200_000);
    expect(gathered.morning).toEqual(morning);
    expect(gathered.sweep).toEqual(sweep);
  });

  it('finds what the scenario puts into the sensors, on the channels that have it', () => {
    const injections: Injection[] = [
      { do: 'shift sensor', at: 0, parameter: 'MAST_TORQUE', by: 80 },
      { do: 'scale sensor', at: 0, parameter: 'PITCH_LINK', by: 0.96 },
      { do: 'freeze sensor', at: 1, parameter: 'VIB_MGB_Y' },
      { do: 'swap sensors', at: 0, parameter: 'BLADE_FLAP', with: 'BOOM_TORSION' },
    ];
    const seen = flown({ ...scenario, injections });
    expect(faultsOf(seen, 'MAST_TORQUE')).toEqual([expect.stringMatching(/^offset: mean 79\.\d+ N m/)]);
    expect(faultsOf(seen, 'PITCH_LINK')).toEqual([expect.stringMatching(/^gain: .*\(96 %\)/)]);
    expect(faultsOf(seen, 'VIB_MGB_Y')).toContainEqual(
      expect.stringMatching(/^dead: .*without any noise|^dead: .*frozen/),
    );
    expect(faultsOf(seen, 'BLADE_FLAP')).toContainEqual(
      expect.stringMatching(/^swapped: the shunt of BLADE_FLAP steps BOOM_TORSION by/),
    );
    expect(faultsOf(seen, 'BOOM_TORSION')).toContainEqual(
      expect.stringMatching(/^swapped: the shunt of BOOM_TORSION steps BLADE_FLAP by/),
    );
    const about = ['MAST_TORQUE', 'PITCH_LINK', 'VIB_MGB_Y', 'BLADE_FLAP', 'BOOM_TORSION'];
    for (const { parameter, faults } of seen.morning?.channels ?? [])
      if (!about.includes(parameter)) expect([parameter, faults]).toEqual([parameter, []]);
  });

  it('finds several faults at once, of every kind, each on its channel; all of them are in `npm run prove checks`', () => {
    // the faults of every eighth, so that over the channels each kind comes
    const faults = demoFaults(mission).filter((_, i) => i % 8 === 3);
    const [first = [], second = []] = mornings(faults, 12);
    const seen = [first, second].map((some, i) => lookFor(mission, { ...scenario, seed: 21 + i }, some));
    expect(seen.flatMap(({ wrong }) => wrong)).toEqual([]);
    expect(seen.map(({ found }) => found)).toEqual([first.length, second.length]);
  });

  it('finds stirring that misses the stops, and an actuator that stays where it is', () => {
    const script = scenario.script.map((step): Step => (step.do === 'sweep' ? { ...step, reach: 0.92 } : step));
    const injections: Injection[] = [{ do: 'jam actuator', at: 70, actuator: 2 }];
    const { sweep } = flown({ ...scenario, script, injections });
    for (const { parameter, faults } of sweep?.channels ?? []) {
      expect(faults).toContainEqual(expect.stringMatching(/^(low|high) end missed/));
      const tracked = faults.some((fault) => fault.startsWith('tracking'));
      expect([parameter, tracked]).toEqual([parameter, parameter === 'ACT2_POS']);
    }
  });
});
