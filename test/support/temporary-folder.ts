/** Folders that are gone when the test process ends. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

const made: string[] = [];
process.on('exit', () => {
  for (const folder of made) rmSync(folder, { recursive: true, force: true });
});

export function temporaryFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), 'groundchase-'));
  made.push(folder);
  return folder;
}
