/**
 * A `.proto` that is not ours, whole: a mission folder describes it, `live` takes it over TCP, the page shows its values,
 * a limit watches one, and the recording replays by itself when the folder is gone.
 */
import { once } from 'node:events';
import { readdirSync, rmSync } from 'node:fs';
import { connect, type Socket } from 'node:net';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import type { Mission } from '../../protocol/mission.ts';
import { loadMission } from '../../station/mission/load.ts';
import { launch, openWindow } from '../browser/open-window.ts';
import { groundchase, Running } from '../support/groundchase.ts';
import { encodeMapped } from '../support/mapped-mission.ts';
import { ownStreamFolder } from '../support/own-stream.ts';
import { temporaryFolder } from '../support/temporary-folder.ts';
import { waitUntil } from '../support/wait-until.ts';

let browser: Browser;
let station: Running;
let sender: Sender;
const recordings = temporaryFolder();

beforeAll(async () => {
  browser = await launch();
});

afterAll(async () => {
  sender?.stop();
  await browser?.close();
  await station?.stop();
});

/** The invented aircraft: a size-delimited message every 20 ms. */
class Sender {
  nr = 100;
  sent = 0;
  readonly #mission: Mission;
  readonly #socket: Socket;
  readonly #timer: NodeJS.Timeout;

  constructor(mission: Mission, socket: Socket) {
    this.#mission = mission;
    this.#socket = socket;
    this.#timer = setInterval(() => this.#send(), 20);
  }

  static async to(address: string, mission: Mission): Promise<Sender> {
    const socket = connect({ host: '127.0.0.1', port: Number(address.split(':').at(-1)), noDelay: true });
    await once(socket, 'connect');
    return new Sender(mission, socket);
  }

  #send(): void {
    const micros = Date.now() * 1000;
    const bytes = encodeMapped(this.#mission, {
      tail: 'HM-3',
      count: this.sent++,
      at: { seconds: Math.floor(micros / 1e6), nanos: (micros % 1e6) * 1000 },
      rotor: { nr: this.nr },
      engines: [{ torque: 10 }, { torque: 146, mode: 5 }],
      tanks: { 'fore main': 3, 'aft main': 812 },
      fault: 'probe iced',
      burst: [1, 6, 11].map((ms) => ({ after_us: ms * 1000, lateral: -2500 })),
      gear: 2,
      build: { software: 'BUS-2', configuration: 'HM3-A' },
      discretes: 0x80000000,
    });
    const size: number[] = [];
    for (let left = bytes.length; ; left >>= 7) {
      size.push(left < 128 ? left : (left & 127) | 128);
      if (left < 128) break;
    }
    this.#socket.write(Uint8Array.from([...size, ...bytes]));
  }

  stop(): void {
    clearInterval(this.#timer);
    this.#socket.destroy();
  }
}

const value = (page: Page, id: string, text: RegExp) =>
  page.locator(`[data-value="${id}"]`, { hasText: text }).first().waitFor({ timeout: 20_000 });

it('is received over TCP, shown, watched, recorded and replayed', { timeout: 120_000 }, async () => {
  const folder = ownStreamFolder();
  const none = join(recordings, 'no-accounts.json');
  const words = ['--mission', folder, '--recordings', recordings, '--port', '0', '--accounts', none];
  station = new Running(['live', '--listen', 'tcp://127.0.0.1:0', ...words]);
  const link = (await station.line(/may look, not act/)).split(' ')[0] as string;
  const input = await waitUntil('it listens', () => /listening on (tcp\S+)/.exec(station.stderr)?.[1], 30_000);
  const loaded = loadMission(folder);
  sender = await Sender.to(input, (loaded.value as NonNullable<typeof loaded.value>).mission);

  const { page, errors } = await openWindow(browser, link);
  await value(page, 'NR', /^100\.0$/);
  await value(page, 'NR_SPARE', /^5\.0$/);
  await value(page, 'FUEL', /^812$/);
  await value(page, 'TORQUE_2', /^73/);
  await value(page, 'LATERAL', /^[-\u2212]2\.5/);
  await value(page, 'MODE_2', /^flight$/);
  await value(page, 'GEAR', /^down$/);
  await value(page, 'DOOR', /^open$/);
  await page.getByText('UNCHECKED').first().waitFor();

  sender.nr = 94;
  const alarm = page.locator('gc-alarm-list li[data-alarm="nr-low"]');
  await alarm.waitFor({ timeout: 20_000 });
  expect(await alarm.textContent()).toContain('WARNING');
  expect(errors).toEqual([]);
  sender.stop();
  const { code } = await station.stop('SIGINT');
  expect(code).toBe(0);

  // what was received is in the recording, and so is how to read it
  rmSync(folder, { recursive: true });
  const file = join(recordings, readdirSync(recordings).find((name) => name.endsWith('.flight')) as string);
  const replay = await groundchase('replay', file, '--alarms', '--json');
  const compared = JSON.parse(replay.stdout) as { live: number; replayed: number; differences: unknown[] };
  expect(compared.differences).toEqual([]);
  expect(compared.replayed).toBeGreaterThan(0);
  expect(replay.code).toBe(0);
});
