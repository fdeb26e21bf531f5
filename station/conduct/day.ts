/** What is wrong with the people and words of the day, wherever the mission comes from. */
import type { Finding } from '../../protocol/finding.ts';
import type { Mission } from '../../protocol/mission.ts';
import { type Position, positions } from '../../protocol/role.ts';
import { wordTroubles } from '../../protocol/stop-call.ts';
import { alike } from './people.ts';

export function dayFindings({ aircraft, mayCallClass2 = [], people, phases, words }: Mission): Finding[] {
  const findings: Finding[] = [];
  const finding = (code: Finding['code'], found: string, expected: string, key = ''): void => {
    const place = words.places?.[key] ?? { file: 'mission.yaml', line: 0, column: 0 };
    findings.push({ code, ...place, found, expected });
  };
  const isPosition = (name: string): boolean => positions.includes(name as Position);
  const seen = new Set<string>();
  for (const { id, position } of people) {
    if (seen.has(alike(id)))
      finding('duplicate-name', `person ${id}`, 'an id for each person, whatever the letter case');
    seen.add(alike(id));
    if (!isPosition(position)) {
      finding('unknown-name', `person ${id} at ${position}`, `a position: ${positions.join(', ')}`);
    }
  }
  for (const name of mayCallClass2) {
    if (!isPosition(name))
      finding('unknown-name', `${name}, who may call class 2`, `a position: ${positions.join(', ')}`);
  }
  for (const { list, index, code, expected } of wordTroubles(words, aircraft.terminationSystem)) {
    finding(code, `the word ${words[list]?.[index]}`, expected);
  }
  const known = phases?.phases.map(({ id }) => id) ?? [];
  for (const [i, id] of (words.startPhases ?? []).entries()) {
    const expected = phases ? `a phase: ${known.join(', ')}` : 'no phases, since the mission declares none';
    if (!known.includes(id)) finding('unknown-name', `start phase ${id}`, expected, `start phases ${i}`);
  }
  return findings;
}
