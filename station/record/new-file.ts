/** The name of a new recording, which is nobody's yet, and the folder it goes to. */
import { existsSync, mkdirSync, readdirSync } from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import { type GroundTime, isoText } from '../../protocol/time.ts';
import { RECORDING_ENDING } from '../../replay/recording/schema.ts';

/**
 * Makes a folder and those above it. Step by step: Node's own way tries for ever where the system says that a folder
 * which exists does not (below /proc, say).
 */
function makeFolder(dir: string): void {
  const missing: string[] = [];
  for (let at = resolve(dir); !existsSync(at) && at !== dirname(at); at = dirname(at)) missing.push(at);
  for (const folder of missing.reverse()) {
    try {
      mkdirSync(folder);
    } catch (error) {
      // another station may have made it in between
      if ((error as NodeJS.ErrnoException).code !== 'EEXIST') throw error;
    }
  }
}

/** Files named here, also those that their recorder has not made yet. */
const given = new Set<string>();

/** `<date>-<name>-<n>.flight`, n the first number free that day, and never given out before. Makes the folder. */
export function newRecordingFile(dir: string, name: string, started: GroundTime): string {
  makeFolder(dir);
  const safe = name.replace(/[^\p{L}\p{N}_.]+/gu, '_').replace(/^[._]+/, '') || 'flight';
  const stem = `${isoText(started).slice(0, 10)}-${safe}-`;
  const taken = new Set(readdirSync(dir));
  for (let n = 1; ; n++) {
    const file = `${stem}${n}${RECORDING_ENDING}`;
    const path = join(dir, file);
    if (taken.has(file) || given.has(resolve(path))) continue;
    given.add(resolve(path));
    return path;
  }
}
