/**
 * The morning check of the rehearsal's own aircraft over the whole pipeline: every fault that each of its channels can have,
 * several mornings' worth, and healthy mornings of as many seeds as wanted. All found, none false.
 */
import type { Mission } from '../../protocol/mission.ts';
import type { Scenario } from '../../replay/rehearsal/scenario.ts';
import { aged, demoFaults, demoMorning, isFast, lookFor, lossy, mornings } from '../support/demo-morning.ts';
import { demonstrationMission, scenarioFile } from '../support/rehearsal.ts';
import type { Effort } from './effort.ts';

/** Faults of one morning. */
const AT_ONCE = 10;

/** `amount` in healthy mornings. */
export async function proveChecks({ seed, amount }: Effort): Promise<boolean> {
  const mission = demonstrationMission();
  const scenario = scenarioFile('morning-check');
  const wrong = [...everyFault(mission, scenario, seed), ...ofAll(mission, scenario, seed)];
  let isHealthy = 0;
  for (let i = 0; i < amount; i++) {
    const said = healthy(mission, { ...scenario, seed: seed + i });
    if (said.length === 0) isHealthy++;
    wrong.push(...said.map((one) => `healthy, seed ${seed + i}: ${one}`));
  }
  console.log(
    `  seeds ${seed} to ${seed + amount - 1}: ${isHealthy} of ${amount} healthy mornings without a false fault`,
  );
  for (const one of wrong) console.log(`  ${one}`);
  return wrong.length === 0;
}

function everyFault(mission: Mission, scenario: Scenario, seed: number): string[] {
  const faults = demoFaults(mission);
  const list = mornings(faults, AT_ONCE);
  const seen = list.map((some, i) => lookFor(mission, { ...scenario, seed: seed + i }, some));
  const found = seen.reduce((sum, one) => sum + one.found, 0);
  console.log(`  ${found} of ${faults.length} faults found, in ${list.length} mornings`);
  return seen.flatMap(({ wrong }) => wrong);
}

/** What is of all channels at once: frames that are lost, calibrations that are too old. */
function ofAll(mission: Mission, scenario: Scenario, seed: number): string[] {
  const cases: [string, Mission, Scenario, RegExp][] = [
    ['frames lost', mission, lossy({ ...scenario, seed }, 0.3), /^rate: /],
    ['calibrations too old', aged(mission, 10), { ...scenario, seed }, /^calibration: made \d+ days ago/],
  ];
  return cases.flatMap(([what, of, flown, begins]) => {
    const channels = demoMorning(of, flown).channels.filter(({ parameter }) => isFast(of, parameter));
    const missed = channels.filter(({ faults }) => !faults.some((said) => begins.test(said)));
    console.log(`  ${what}: ${channels.length - missed.length} of ${channels.length} channels found`);
    return missed.map(({ parameter }) => `${parameter}, ${what}: not found`);
  });
}

/** Everything said against a healthy morning. */
function healthy(mission: Mission, scenario: Scenario): string[] {
  const { channels, timeFaults, complete } = demoMorning(mission, scenario);
  const said = channels.flatMap(({ parameter, faults, cannotTell }) =>
    [...faults, ...cannotTell].map((one) => `${parameter} ${one}`),
  );
  return [...said, ...timeFaults, ...(complete ? [] : ['not complete'])];
}
