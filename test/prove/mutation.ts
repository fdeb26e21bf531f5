/** The limit and alarm modules, changed one place at a time: a test must notice. The score that must be reached is 90 %. */
import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';

const root = fileURLToPath(new URL('../..', import.meta.url));

export async function proveMutation(): Promise<boolean> {
  const { status } = spawnSync('npx', ['stryker', 'run', '.ci/mutation.json'], { cwd: root, stdio: 'inherit' });
  return status === 0;
}
