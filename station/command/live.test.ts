import { createSocket } from 'node:dgram';
import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, expect, it } from 'vitest';
import { encodeEnvelope } from '../../protocol/wire.ts';
import { Recording } from '../../replay/recording/recording.ts';
import { groundchaseWith, Running } from '../../test/support/groundchase.ts';
import { missionFolder } from '../../test/support/mission-folder.ts';
import { temporaryFolder } from '../../test/support/temporary-folder.ts';
import { frameBytes } from '../../test/support/tiny-mission.ts';
import { waitUntil } from '../../test/support/wait-until.ts';
import { loadMission } from '../mission/load.ts';

const running: Running[] = [];
afterEach(async () => {
  for (const command of running.splice(0)) await command.stop('SIGKILL');
});

/** Without the accounts of whoever runs the tests. */
function run(...words: string[]): Running {
  const command = new Running([...words, '--accounts', join(temporaryFolder(), 'accounts.json')]);
  running.push(command);
  return command;
}

/** A sender of frames of the mission in `folder`, counted from 0. */
function aircraft(folder: string) {
  const { mission } = loadMission(folder).value!;
  const startUs = Date.now() * 1000;
  let counter = 0;
  return (to: string, airspeed: number) => {
    const timeUs = startUs + counter * 20_000;
    const rows = [{ NR: 10_000, IAS: airspeed, DISCRETES: 1 }];
    const bytes = encodeEnvelope('North', 9, frameBytes(mission, counter++, timeUs, [{ group: 'main', rows }]));
    const socket = createSocket('udp4');
    return new Promise<void>((resolve) =>
      socket.send(bytes, Number(to.split(':').at(-1)), '127.0.0.1', () => socket.close(() => resolve())),
    );
  };
}

const inputOf = (command: Running) =>
  waitUntil('it listens', () => /listening on (\S+)/.exec(command.stderr)?.[1], 30_000);
const health = async (command: Running) =>
  (await (await fetch(`${await command.address()}/healthz`)).json()) as Record<string, unknown>;

it('a flight that a crash cut off goes on in the same recording, and nothing that was committed is lost', async () => {
  const folder = missionFolder();
  const recordings = temporaryFolder();
  const words = [
    'live',
    '--listen',
    'udp://127.0.0.1:0',
    '--mission',
    folder,
    '--recordings',
    recordings,
    '--port',
    '0',
  ];
  const send = aircraft(folder);
  const first = run(...words);
  await first.address();
  const firstInput = await inputOf(first);
  for (let n = 0; n < 10; n++) await send(firstInput, 130);
  await waitUntil('the alarm is in the file', () => alarms(recordings).length > 0);
  await first.stop('SIGKILL');

  const second = run(...words);
  await second.address();
  const secondInput = await inputOf(second);
  await waitUntil('it says so', () => second.stderr.includes('the flight goes on in it'));
  await send(secondInput, 130);
  await waitUntil('the stream is received', async () => (await health(second))['stream'] === 'receiving');
  expect((await second.stop('SIGTERM')).code).toBe(0);

  const files = readdirSync(recordings).filter((name) => name.endsWith('.flight'));
  expect(files).toHaveLength(1);
  const recording = Recording.open(join(recordings, files[0]!));
  const frames = [...recording.entries()].filter((entry) => entry.kind === 'frame');
  expect(frames).toHaveLength(11);
  for (let i = 1; i < frames.length; i++) expect(frames[i]!.ground).toBeGreaterThanOrEqual(frames[i - 1]!.ground);
  expect(recording.closed).toBe(true);
  expect(recording.alarms().filter(({ alarm, event }) => alarm === 'ias-high' && event === 'raised')).toHaveLength(1);
  recording.close();
});

function alarms(recordings: string) {
  const file = readdirSync(recordings).find((name) => name.endsWith('.flight'));
  if (file === undefined) return [];
  const recording = Recording.open(join(recordings, file));
  try {
    return recording.alarms().filter(({ alarm }) => alarm === 'ias-high');
  } finally {
    recording.close();
  }
}

it('tells all that is wrong with a mission folder at once, and exits with 1', async () => {
  const folder = missionFolder({
    'limits.yaml': 'limits:\n  - {id: x, parameter: NOPE}\n',
    'derived.yaml': 'derived: 7\n',
  });
  const ended = await run('live', '--listen', 'udp://127.0.0.1:0', '--mission', folder, '--port', '0').ended;
  expect(ended.code).toBe(1);
  expect(ended.stderr).toContain('limits.yaml');
  expect(ended.stderr).toContain('derived.yaml');
  expect(ended.stdout).toBe('');
});

it('names a port in use, and an address that is none', async () => {
  const folder = missionFolder();
  const taken = createSocket('udp4');
  await new Promise<void>((resolve) => taken.bind(0, '127.0.0.1', () => resolve()));
  const { port } = taken.address();
  const words = ['--mission', folder, '--recordings', temporaryFolder(), '--port', '0'];
  const inUse = await run('live', '--listen', `udp://127.0.0.1:${port}`, ...words).ended;
  taken.close();
  expect(inUse.code).toBe(1);
  expect(inUse.stderr).toContain(`port ${port} is in use`);
  expect(inUse.stderr).not.toContain(' at ');
  const none = await run('live', '--listen', 'serial0', ...words).ended;
  expect(none.code).toBe(1);
  expect(none.stderr).toContain('"serial0" is not an address');
});

it('without accounts gives a viewing link and says that nobody can act; with some it names who cannot', async () => {
  const folder = missionFolder();
  const accounts = join(temporaryFolder(), 'accounts.json');
  const words = ['live', '--listen', 'udp://127.0.0.1:0', '--mission', folder, '--port', '0'];
  const live = () => {
    const command = new Running([...words, '--recordings', temporaryFolder(), '--accounts', accounts]);
    running.push(command);
    return command;
  };
  const add = async (id: string) => {
    const of = ['account', 'add', id, '--name', 'Ines Arkwright', '--password-stdin', '--accounts', accounts];
    expect((await groundchaseWith('a long enough word\n', ...of)).code).toBe(0);
  };
  const first = live();
  expect(await first.line(/may look, not act/)).toContain('/sign-in/');
  await waitUntil('it says so', () => first.stderr.includes('nobody can act'));
  await first.stop();

  await add('somebody');
  const second = live();
  await waitUntil('it says who', () => second.stderr.includes('cannot act: td (test director)'), 30_000);
  const address = await second.address();
  await add('td');
  const enter = (password: string) =>
    fetch(`${address}/sign-in`, {
      method: 'POST',
      redirect: 'manual',
      body: new URLSearchParams({ id: 'td', password }),
    });
  expect((await enter('a wrong password')).status).toBe(403);
  expect((await enter('a long enough word')).status).toBe(303);
  const ended = await second.stop();
  expect(ended.stdout).not.toContain('/sign-in/');
  expect(ended.stdout + ended.stderr).not.toMatch(/long enough word|wrong password/);
}, 60_000);
