// The steps of set-up, with Node's own modules alone, since this runs before anything is installed. Each step leaves a
// stamp of what it was made from and is skipped while that is unchanged; a checkout that is ready is only read.
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { accessSync, constants, existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { homedir } from 'node:os';
import { delimiter, dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = join(dirname(fileURLToPath(import.meta.url)), '..');
const modules = join(root, 'node_modules');
const stamps = join(modules, '.groundchase');

/** A cause that a person can mend: shown without a stack. */
function trouble(message) {
  return Object.assign(new Error(message), { forPeople: true });
}

/**
 * `code`: dependencies and generated code, enough for a command that shows nothing; `start`: the display bundle too;
 * `test`: a browser too.
 */
export function setUp(mode) {
  install();
  generate();
  if (mode !== 'code') bundle();
  if (mode === 'test') browser();
}

function install() {
  const machine = [process.versions.modules, process.platform, process.arch].join(' ');
  const made = `${hashOf(['package-lock.json'])} ${machine}`;
  const before = stamp('install');
  if (before === made) return;
  needsWriting(root);
  const sameMachine = before === undefined || before.endsWith(machine);
  if (sameMachine && isInstalled()) {
    databaseLoads();
    setStamp('install', made);
    return;
  }
  say('installing dependencies (once, needs the npm registry)');
  if (!npm('ci', '--include=dev', '--no-audit', '--no-fund')) {
    const missing = missingBuildTools();
    if (missing.length === 0) throw trouble('npm ci failed; the lines above say why (is the npm registry reachable?)');
    buildTools(missing);
    if (!npm('ci', '--include=dev', '--no-audit', '--no-fund')) throw trouble('npm ci failed; see the lines above');
  }
  databaseLoads();
  setStamp('install', made);
}

/** True when somebody's own `npm install` has brought everything the lock names: then there is nothing to do again. */
function isInstalled() {
  const packages = (file) => JSON.parse(readFileSync(join(root, file), 'utf8')).packages;
  try {
    const installed = packages('node_modules/.package-lock.json');
    const wanted = Object.entries(packages('package-lock.json')).filter(([path, { optional }]) => path && !optional);
    return wanted.every(([path, { version }]) => installed[path]?.version === version && existsSync(join(root, path)));
  } catch {
    return false;
  }
}

/** The one dependency with native code: a prebuilt binary may be missing, or be for another Node. */
function databaseLoads() {
  const loads = () =>
    spawnSync(process.execPath, ['-e', "new (require('better-sqlite3'))(':memory:').close()"], { cwd: root });
  if (loads().status === 0) return;
  const missing = missingBuildTools();
  if (missing.length > 0) buildTools(missing);
  say('building better-sqlite3 from its source');
  npm('rebuild', 'better-sqlite3', '--build-from-source');
  const again = loads();
  if (again.status !== 0) throw trouble(`better-sqlite3 cannot be loaded:\n${again.stderr}`);
}

function missingBuildTools() {
  return [
    ['a C++ compiler', ['c++', 'g++', 'clang++']],
    ['make', ['make', 'gmake']],
    ['python3', ['python3']],
  ]
    .filter(([, names]) => !names.some(onPath))
    .map(([tool]) => tool);
}

function buildTools(missing) {
  say(`${missing.join(', ')} missing, needed to build better-sqlite3`);
  if (aptInstall('g++', 'make', 'python3') && missingBuildTools().length === 0) return;
  throw trouble(
    `better-sqlite3 has no prebuilt binary here and cannot be built: install ${missing.join(', ')} ` +
      '(Debian: apt-get install g++ make python3) and run the same command again.',
  );
}

function generate() {
  const made = hashOf(['.ci/generate.mjs', 'package-lock.json', ...list('protocol', '.proto'), ...grammars()]);
  const outputs = ['protocol/generated/wire.js', ...grammars().map(() => 'station/derive/generated/formula-parser.js')];
  if (stamp('generate') === made && outputs.every((file) => existsSync(join(root, file)))) return;
  needsWriting(root);
  say('generating code from protocol/*.proto and the formula grammar');
  node('.ci/generate.mjs');
  setStamp('generate', made);
}

const grammars = () => list('station/derive', '.peggy');

function bundle() {
  const sources = ['vite.config.ts', 'package-lock.json', ...list('display', ''), ...list('protocol', '')];
  const made = hashOf(sources);
  if (stamp('bundle') === made && existsSync(join(root, 'display/dist/index.html'))) return;
  needsWriting(root);
  say('bundling the display');
  node('node_modules/vite/bin/vite.js', 'build', '--logLevel', 'warn');
  setStamp('bundle', made);
}

function browser() {
  const found = findBrowser() ?? (aptInstall('chromium') ? findBrowser() : undefined) ?? downloadBrowser();
  if (found === undefined)
    throw trouble('the tests need Chromium and none was found: install it, or set CHROMIUM to its path.');
  if (stamp('chromium') !== found) setStamp('chromium', found);
}

function findBrowser() {
  if (process.env.CHROMIUM) {
    if (existsSync(process.env.CHROMIUM)) return process.env.CHROMIUM;
    throw trouble(`CHROMIUM is set to ${process.env.CHROMIUM}, which does not exist.`);
  }
  const names = ['chromium', 'chromium-browser', 'google-chrome', 'google-chrome-stable', 'chrome'];
  const places = [
    '/snap/bin/chromium',
    '/Applications/Chromium.app/Contents/MacOS/Chromium',
    '/Applications/Google Chrome.app/Contents/MacOS/Google Chrome',
  ];
  const kept = stamp('chromium');
  return names.map(onPath).find(Boolean) ?? [...places, kept].find((path) => path && existsSync(path));
}

/** The test tool's own download, the last resort. */
function downloadBrowser() {
  say('downloading Chromium with playwright');
  const run = spawnSync(
    process.execPath,
    [join(modules, 'playwright-core/cli.js'), 'install', '--with-deps', 'chromium'],
    { cwd: root, stdio: ['ignore', 2, 2] },
  );
  if (run.status !== 0) return undefined;
  const cache = process.env.PLAYWRIGHT_BROWSERS_PATH ?? join(homedir(), '.cache/ms-playwright');
  if (!existsSync(cache)) return undefined;
  return readdirSync(cache)
    .flatMap((name) => ['chrome-linux', 'chrome-linux64'].map((folder) => join(cache, name, folder, 'chrome')))
    .find((path) => existsSync(path));
}

function aptInstall(...packages) {
  if (!onPath('apt-get')) return false;
  const before = process.getuid() === 0 ? [] : ['sudo', '-n'];
  if (before.length > 0 && spawnSync('sudo', ['-n', 'true']).status !== 0) return false;
  const apt = (...words) => {
    const [program, ...rest] = [...before, 'env', 'DEBIAN_FRONTEND=noninteractive', 'apt-get', ...words];
    return spawnSync(program, rest, { stdio: ['ignore', 2, 2] }).status === 0;
  };
  say(`apt-get install ${packages.join(' ')}`);
  const install = () => apt('install', '-y', '-q', '--no-install-recommends', ...packages);
  return install() || (apt('update', '-q') && install());
}

function npm(...words) {
  const env = { ...process.env };
  // the headers beside this Node spare a download when native code must be built
  const prefix = join(dirname(process.execPath), '..');
  if (existsSync(join(prefix, 'include/node/node.h'))) env.npm_config_nodedir ??= prefix;
  // the npm that called us, if it was npm
  const own = process.env.npm_execpath ?? '';
  const isNpm = own.endsWith('npm-cli.js');
  const [program, ...rest] = isNpm ? [process.execPath, own, ...words] : ['npm', ...words];
  return spawnSync(program, rest, { cwd: root, env, stdio: ['ignore', 2, 2] }).status === 0;
}

function node(...words) {
  const run = spawnSync(process.execPath, words, { cwd: root, stdio: ['ignore', 2, 2] });
  if (run.status !== 0) throw trouble(`${words[0]} failed; see the lines above`);
}

function needsWriting(folder) {
  try {
    accessSync(folder, constants.W_OK);
    if (existsSync(modules)) accessSync(modules, constants.W_OK);
  } catch {
    throw trouble(
      `no permission to write into ${folder}: dependencies, generated code and the display are put there.\n` +
        'Clone or copy the checkout to a folder of your own and run the same command there.',
    );
  }
}

function onPath(name) {
  const folders = (process.env.PATH ?? '').split(delimiter).filter(Boolean);
  return folders.map((folder) => join(folder, name)).find((path) => existsSync(path));
}

/** Files below a folder, by ending, built ones left out; relative to the root, in one order everywhere. */
function list(folder, ending) {
  const found = [];
  const walk = (at) => {
    for (const item of readdirSync(join(root, at), { withFileTypes: true })) {
      const path = `${at}/${item.name}`;
      if (item.isDirectory()) {
        if (!['dist', 'generated', 'pictures'].includes(item.name)) walk(path);
      } else if (item.name.endsWith(ending) && !item.name.endsWith('.test.ts')) found.push(path);
    }
  };
  if (existsSync(join(root, folder))) walk(folder);
  return found.sort();
}

function hashOf(files) {
  const hash = createHash('sha256');
  for (const file of files) hash.update(`${file}\0`).update(readFileSync(join(root, file)));
  return hash.digest('hex');
}

function stamp(name) {
  try {
    return readFileSync(join(stamps, name), 'utf8');
  } catch {
    return undefined;
  }
}

function setStamp(name, text) {
  mkdirSync(stamps, { recursive: true });
  writeFileSync(join(stamps, name), text);
}

function say(line) {
  console.error(`groundchase set-up: ${line}`);
}
