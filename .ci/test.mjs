// What `npm test` runs once the checkout is ready: types, lint, import rules, the size of the display, tests. Each of the
// first four counts as one check. Words after `npm test --` choose test files and go to vitest alone. The last line of
// output is `N passed, N failed`.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { gzipSync } from 'node:zlib';

const root = join(dirname(fileURLToPath(import.meta.url)), '..');
const chosen = process.argv.slice(2);
const folders = ['protocol', 'station', 'replay', 'display', 'test'];
/** Longest time the tests together may take, milliseconds: a hang must end as a failure. */
const longest = 20 * 60_000;

/** Most bytes of script, compressed, that a display may load: it must come up at once on an old machine too. */
const mostScript = 250_000;

let passed = 0;
let failed = 0;

function run(words, limit) {
  return spawnSync(process.execPath, words, { cwd: root, stdio: 'inherit', timeout: limit, killSignal: 'SIGKILL' });
}

function tally(name, good) {
  if (good) passed++;
  else failed++;
  console.log(`${good ? 'passed' : 'FAILED'}: ${name}`);
}

function check(name, ...words) {
  tally(name, run(words).status === 0);
}

function bundleSize() {
  const folder = join(root, 'display/dist/assets');
  const scripts = readdirSync(folder).filter((name) => name.endsWith('.js'));
  const bytes = scripts.reduce((sum, name) => sum + gzipSync(readFileSync(join(folder, name))).length, 0);
  tally(`display of ${bytes} bytes of script, at most ${mostScript}`, bytes > 0 && bytes <= mostScript);
}

function tests() {
  const folder = mkdtempSync(join(tmpdir(), 'groundchase-test-'));
  const file = join(folder, 'result.json');
  const vitest = join('node_modules', 'vitest', 'vitest.mjs');
  const { status } = run(
    [vitest, 'run', '--reporter=default', '--reporter=json', `--outputFile=${file}`, ...chosen],
    longest,
  );
  let result = { testResults: [] };
  try {
    result = JSON.parse(readFileSync(file, 'utf8'));
  } catch {
    console.log('the test run ended without a result');
  }
  rmSync(folder, { recursive: true, force: true });
  const failedBefore = failed;
  for (const { assertionResults, status: fileStatus, name } of result.testResults) {
    const count = (wanted) => assertionResults.filter((test) => test.status === wanted).length;
    passed += count('passed');
    failed += count('failed');
    // a file that could not even be loaded
    if (fileStatus === 'failed' && count('failed') === 0) failed++;
    for (const test of assertionResults)
      if (!['passed', 'failed'].includes(test.status)) console.log(`${test.status}: ${name}: ${test.fullName}`);
  }
  // errors outside any test
  if (status !== 0 && failed === failedBefore) failed++;
}

if (chosen.length === 0) {
  check('types', 'node_modules/typescript/bin/tsc', '-p', '.');
  check('lint and format', 'node_modules/@biomejs/biome/bin/biome', 'check', '.');
  check(
    'import rules',
    'node_modules/dependency-cruiser/bin/dependency-cruise.mjs',
    '--config',
    '.dependency-cruiser.cjs',
    ...folders,
  );
  bundleSize();
}
tests();
console.log(`${passed} passed, ${failed} failed`);
process.exitCode = failed > 0 || passed === 0 ? 1 : 0;
