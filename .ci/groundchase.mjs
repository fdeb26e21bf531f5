#!/usr/bin/env node
// The command `groundchase`: makes sure that the checkout is ready, then runs station/command/groundchase.ts with tsx.
import { spawn } from 'node:child_process';
import { dirname, join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { setUp } from './steps.mjs';

const root = join(dirname(fileURLToPath(import.meta.url)), '..');
const words = process.argv.slice(2);
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
  const child = spawn(process.execPath, ['--import', tsx, join(root, 'station/command/groundchase.ts'), ...words], {
    stdio: 'inherit',
  });
  // A supervisor signals this process alone: pass it on. A terminal's Ctrl-C has reached the child already.
  for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'])
    process.on(signal, () => {
      if (signal !== 'SIGINT' || !process.stdin.isTTY) child.kill(signal);
    });
  child.on('exit', (code, signal) => {
    process.exitCode = code ?? 128 + (signal === 'SIGINT' ? 2 : 15);
  });
}
