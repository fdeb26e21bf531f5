#!/usr/bin/env node
// The command `groundchase`: makes sure that the checkout is set up, then runs station/command/groundchase.ts with tsx.
import { spawn } from 'node:child_process';
import { dirname, join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';

const root = join(dirname(fileURLToPath(import.meta.url)), '..');

const tsx = pathToFileURL(join(root, 'node_modules/tsx/dist/loader.mjs')).href;
const child = spawn(
  process.execPath,
  ['--import', tsx, join(root, 'station/command/groundchase.ts'), ...process.argv.slice(2)],
  { stdio: 'inherit' },
);
// A supervisor signals this process alone: pass it on. A terminal's Ctrl-C has reached the child already.
for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'])
  process.on(signal, () => {
    if (signal !== 'SIGINT' || !process.stdin.isTTY) child.kill(signal);
  });
child.on('exit', (code, signal) => {
  process.exitCode = code ?? 128 + (signal === 'SIGINT' ? 2 : 15);
});
