/** The demonstration mission and its first flight, as the commands read them. */
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { parse } from 'yaml';
import { findingText } from '../../protocol/finding.ts';
import type { Mission } from '../../protocol/mission.ts';
import { readScenario, type Scenario } from '../../replay/rehearsal/scenario.ts';
import { loadMission } from '../../station/mission/load.ts';

const folder = fileURLToPath(new URL('../../replay/rehearsal/', import.meta.url));

export function demonstrationMission(): Mission {
  const { value, findings } = loadMission(`${folder}mission`);
  if (!value) throw new Error(findings.map(findingText).join('\n'));
  return value.mission;
}

export function scenarioFile(name: string): Scenario {
  const file = `${folder}scenarios/${name}.yaml`;
  const { value, findings } = readScenario(parse(readFileSync(file, 'utf8')), file);
  if (!value) throw new Error(findings.map(findingText).join('\n'));
  return value;
}
