import { expect, it } from 'vitest';
import type { Mission } from '../../protocol/mission.ts';
import { encodeEnvelope } from '../../protocol/wire.ts';
import { encodeMapped } from '../../test/support/mapped-mission.ts';
import { ownStreamFolder } from '../../test/support/own-stream.ts';
import { frameBytes, group, mission, parameter } from '../../test/support/tiny-mission.ts';
import { waitUntil } from '../../test/support/wait-until.ts';
import { Running } from '../../test/support/groundchase.ts';
import { loadMission } from '../mission/load.ts';
import { parseListenAddress } from '../receive/input.ts';
import { openOutlet } from './outlet.ts';

it.each(['udp', 'tcp', 'ws'])('describes what comes in by %s without knowing any mission', async (scheme) => {
  const command = new Running(['listen', `${scheme}://127.0.0.1:0`, '--messages', '4', '--json']);
  const address = await waitUntil('it listens', () => /listening on (\S+)/.exec(command.stderr)?.[1], 30_000);
  const outlet = await openOutlet(parseListenAddress(address));
  const tiny = mission({ groups: [group('main', 100)], parameters: [parameter('A', 'main'), parameter('B', 'main')] });
  for (const counter of [0, 1, 4]) {
    const rows = [{ A: 1 }, { A: 2 }];
    await outlet.send(
      encodeEnvelope('North', 77, frameBytes(tiny, counter, 1_800_000_000_000_000, [{ group: 'main', rows }])),
    );
  }
  await outlet.send(Buffer.from('something else'));
  await outlet.close();
  const { code, stdout } = await command.ended;
  expect(code).toBe(0);
  const report = JSON.parse(stdout) as Record<string, unknown>;
  expect(report).toMatchObject({
    address,
    messages: 4,
    streams: [
      {
        stream: 'TINY',
        schemaVersion: 1,
        readable: true,
        receivers: [{ name: 'North', frames: 3, missed: 2, gaps: 1, quality: 77 }],
        groups: [{ group: 0, samplesPerFrame: 2, bytesPerSample: 4 }],
      },
    ],
    foreign: [{ messages: 1, shortest: 14, begins: Buffer.from('something else').toString('hex') }],
  });
});

it('tells the values of a stream of another make when a mission describes it', async () => {
  const folder = ownStreamFolder();
  const { mission: own } = loadMission(folder).value ?? {};
  const words = ['--mission', folder, '--messages', '3', '--json'];
  const command = new Running(['listen', 'udp://127.0.0.1:0', ...words]);
  const address = await waitUntil('it listens', () => /listening on (\S+)/.exec(command.stderr)?.[1], 30_000);
  const outlet = await openOutlet(parseListenAddress(address));
  const sent = { tail: 'HM-3', at: { seconds: 1_764_064_800 }, rotor: { nr: 97.5 }, engines: [{}, { torque: 150 }] };
  await outlet.send(encodeMapped(own as Mission, { ...sent, count: 7 }));
  await outlet.send(encodeMapped(own as Mission, { ...sent, count: 8, tail: 'HM-4' }));
  await outlet.send(Buffer.from('something else'));
  await outlet.close();
  const { code, stdout } = await command.ended;
  expect(code).toBe(0);
  const unchecked = expect.stringMatching(/^unchecked/);
  expect((JSON.parse(stdout) as { mission: unknown }).mission).toMatchObject({
    ...{ used: 1, foreign: 1, damaged: 1, lost: 0 },
    parameters: expect.arrayContaining([
      { id: 'NR', value: 97.5, unit: '%', validity: unchecked },
      { id: 'TORQUE_2', value: 75, unit: '%', validity: unchecked },
      { id: 'FUEL', unit: 'kg', validity: 'outside the physical range' },
      { id: 'GEAR', unit: '1', validity: 'no sample yet' },
      { id: 'NR_SPARE', value: 2.5, unit: '%', validity: unchecked },
    ]),
  });
});

it('says in words that nothing has arrived', async () => {
  const { code, stdout } = await new Running(['listen', 'udp://127.0.0.1:0', '--seconds', '0.2']).ended;
  expect(code).toBe(0);
  expect(stdout).toContain('nothing has arrived');
});
