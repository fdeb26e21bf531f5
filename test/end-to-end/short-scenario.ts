/** The beginning of the first rehearsal, for tests that need a flight and not a whole one. */
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';

/** Writes a scenario of the given length into a folder and gives the file's path. */
export function shortScenario(folder: string, seconds: number): string {
  const text = readFileSync(new URL('../../replay/rehearsal/scenarios/first-flight.yaml', import.meta.url), 'utf8');
  const short = text.replace(/^duration: .*$/m, `duration: ${seconds}`);
  if (short === text) throw new Error('the scenario has no line "duration: ..."');
  const file = join(folder, 'short.yaml');
  writeFileSync(file, short);
  return file;
}
