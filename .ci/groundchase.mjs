#!/usr/bin/env node
// The command `groundchase`: makes sure that the checkout is ready, then runs station/command/groundchase.ts with tsx.
import { spawn } from 'node:child_process';
import { dirname, join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { setUp } from './steps.mjs';

const root = join(dirname(fileURLToPath(import.meta.url)), '..');
const words = process.argv.slice(2);
/** Signals closer together than this are one, milliseconds. */
const SAME_SIGNAL = 500;
/** Commands that serve the display. */
const showing = ['rehearse', 'live', 'replay'];

try {
  setUp(showing.includes(words[0]) ? 'start' : 'code');
  run();
} catch (error) {
  console.error(`groundchase set-up: ${error.forPeople ? error.message : error.stack}`);
  process.exitCode = 1;
}

function run() {
  const tsx = pathToFileURL(join(root, 'node_modules/tsx/dist/loader.mjs')).href;
  const script = join(root, 'station/command/groundchase.ts');
  // In a session of its own, so that every signal reaches it by way of this process, once. The channel tells it when this
  // process is killed.
  const child = spawn(process.execPath, ['--import', tsx, script, ...words], {
    stdio: ['inherit', 'inherit', 'inherit', 'ipc'],
    detached: true,
  });
  let last = Number.NEGATIVE_INFINITY;
  for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'])
    process.on(signal, () => {
      // npm passes on what the terminal has sent us already
      if (performance.now() - last < SAME_SIGNAL) return;
      last = performance.now();
      child.kill(signal);
    });
  child.on('exit', (code, signal) => {
    process.exitCode = code ?? 128 + (signal === 'SIGINT' ? 2 : 15);
  });
}
