import { execFileSync } from 'node:child_process';
import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, expect, it } from 'vitest';
import { Recording } from '../../replay/recording/recording.ts';
import { Running } from '../../test/support/groundchase.ts';
import { temporaryFolder } from '../../test/support/temporary-folder.ts';
import { TestDisplay } from '../../test/support/test-display.ts';
import { waitUntil } from '../../test/support/wait-until.ts';

const running: Running[] = [];
afterEach(async () => {
  for (const command of running.splice(0)) await command.stop('SIGKILL');
});

function rehearse(recordings: string): Running {
  const command = new Running(['rehearse', 'first-flight', '--port', '0', '--recordings', recordings]);
  running.push(command);
  return command;
}

/** Process ids of the children of a process, from the system's own list. */
function childrenOf(pid: number): number[] {
  const list = execFileSync('ps', ['-e', '-o', 'pid=,ppid='], { encoding: 'utf8' });
  return list
    .trim()
    .split('\n')
    .map((line) => line.trim().split(/\s+/).map(Number))
    .filter(([, parent]) => parent === pid)
    .map(([child]) => child as number);
}

const isRunning = (pid: number): boolean => {
  try {
    process.kill(pid, 0);
    return true;
  } catch {
    return false;
  }
};

const aircraftOf = (command: Running) =>
  waitUntil('the aircraft runs', () => childrenOf(command.child.pid!).find((pid) => isRunning(pid)), 30_000);

it('prints the address, then a link for each person; the aircraft flies; all ends together', async () => {
  const recordings = temporaryFolder();
  const command = rehearse(recordings);
  const address = await command.address();
  expect(command.stdout.split('\n')[0]).toBe(address);
  await command.line(/test conductor/);
  const links = command.stdout.trim().split('\n').slice(1);
  expect(links.length).toBeGreaterThanOrEqual(2);
  for (const link of links) expect(link).toMatch(/^http:\/\/127\.0\.0\.1:\d+\/sign-in\/\S+ {2}[^,]+, [a-z ]+$/);

  const conductor = links.find((link) => link.endsWith('test conductor'))!;
  const display = await TestDisplay.open(conductor.split(' ')[0]!);
  expect(display.heard[0]!.welcome).toMatchObject({ mode: 'rehearsal', position: 'test conductor' });
  display.say({ subscribe: { columns: [0], rateHz: 10 } });
  await waitUntil('the aircraft is received', () => display.room()?.stream?.state === 'receiving', 30_000);
  await waitUntil('values come', () => display.updates().some((update) => (update.traces?.length ?? 0) > 0));

  const aircraft = await aircraftOf(command);
  const { code } = await command.stop('SIGINT');
  expect(code).toBe(0);
  await waitUntil('the aircraft has ended', () => !isRunning(aircraft));
  const [file] = readdirSync(recordings).filter((name) => name.endsWith('.flight'));
  const recording = Recording.open(join(recordings, file!));
  expect(recording.closed).toBe(true);
  expect(recording.about['origin']).toBe('rehearsal');
  recording.close();
});

it('says when the aircraft dies, keeps the station up, and exits with 1', async () => {
  const command = rehearse(temporaryFolder());
  const address = await command.address();
  process.kill(await aircraftOf(command), 'SIGKILL');
  await waitUntil('it says so', () => command.stderr.includes('The rehearsal aircraft died (SIGKILL)'));
  expect((await fetch(`${address}/healthz`)).status).toBe(200);
  expect((await command.stop('SIGTERM')).code).toBe(1);
});

it('the aircraft ends by itself when the station is killed', async () => {
  const command = rehearse(temporaryFolder());
  await command.address();
  const aircraft = await aircraftOf(command);
  await command.stop('SIGKILL');
  await waitUntil('the aircraft has ended', () => !isRunning(aircraft), 20_000);
});
