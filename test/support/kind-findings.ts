/** What is found wrong with one limit, as text that a test reads. */
import type { Limit } from '../../protocol/limit.ts';
import { compileCheck } from '../../station/check/check.ts';
import { group, mission, parameter } from './tiny-mission.ts';

/** The findings about a limit over these parameters, all of one rate group: "code at setting: found, expected what". */
export function findingsOf(limit: Limit, parameters: readonly string[], rate = 100): string[] {
  const keys = [...Object.keys(limit.settings ?? {}), 'above', 'below'];
  const places = Object.fromEntries(keys.map((key) => [key, { file: key, line: 1, column: 1 }]));
  const { findings } = compileCheck(
    mission({
      groups: [group('main', rate)],
      parameters: parameters.map((id) => parameter(id, 'main')),
      limits: [{ ...limit, place: { file: '', line: 1, column: 1 }, places }],
    }),
  );
  return findings.map(
    ({ code, file, found, expected }) => `${code}${file && ` at ${file}`}: ${found}, expected ${expected}`,
  );
}
