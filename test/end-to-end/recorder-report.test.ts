/** What the station itself says of its recorder: it comes by itself, stands in the flight log, and nobody else can say it. */
import { renameSync } from 'node:fs';
import { afterEach, expect, it } from 'vitest';
import type { Action } from '../../protocol/entry.ts';
import { positions } from '../../protocol/role.ts';
import { SECOND } from '../../protocol/time.ts';
import { answer, FullRoom } from '../support/full-room.ts';
import { waitUntil } from '../support/wait-until.ts';

const report = (choice: string): Action => ({
  ...{ act: 'report recorder', subject: '', number: 0, choice, text: 'said by a display', value: 0, aircraft: 0 },
});
const begin: Action = { act: 'begin check', subject: '', number: 0, choice: 'zero', text: '', value: 0, aircraft: 0 };

const channel = { parameter: 'A', zero: 50, zeroTolerance: 1, noise: [0, 1] as [number, number] };
const readiness = {
  ...{ notices: [], watch: [], releases: [] },
  morning: {
    ...{ gather: SECOND, channels: [channel], rateTolerance: 0.02, timeOffset: SECOND, timeDrift: SECOND },
  },
};

let room: FullRoom;
afterEach(() => room.close());

const recorder = () => room.station.fold.conduct()?.readiness?.morning?.recorder;

it('the station reads back what it wrote at the start and at a morning check, and says so in the log', async () => {
  room = await FullRoom.open({ readiness });
  const first = await waitUntil('it is verified', () => (recorder()?.state === 'verified' ? recorder() : undefined));
  expect(first?.text).toMatch(/^\d+ entries written and read back the same; the chain is intact$/);
  await room.raiseAlarms();
  const display = await room.sit('instrumentation');
  const before = first?.text;
  display.act(1, begin);
  expect(await answer(display, 1)).toEqual({ accepted: true, reason: '' });
  await waitUntil('it is looked at again', () => recorder()?.text !== before);
  const said = await room.said();
  const reports = said.filter(({ entry }) => entry.action.act === 'report recorder');
  expect(reports.length).toBe(2);
  for (const { entry, outcome } of reports) {
    expect(entry).toMatchObject({ person: '', position: '', action: { choice: 'verified' } });
    expect(outcome).toMatchObject({ accepted: true, reason: '' });
  }
});

it('trouble that comes after it was verified is in the log by itself, and so is that it went', async () => {
  room = await FullRoom.open({ readiness });
  await waitUntil('it is verified', () => recorder()?.state === 'verified' || undefined);
  const file = room.station.recordingFile;
  renameSync(file, `${file}.away`);
  await room.raiseAlarms();
  await waitUntil('the room knows', () => recorder()?.state === 'trouble' || undefined);
  expect(recorder()?.text).toContain('the file of the recording is gone');
  renameSync(`${file}.away`, file);
  const display = await room.sit('engine');
  display.act(1, { act: 'mark', text: 'back', aircraft: 0 });
  await waitUntil('it is verified again', () => recorder()?.state === 'verified' || undefined);
  const reports = (await room.said()).filter(({ entry }) => entry.action.act === 'report recorder');
  expect(reports.map(({ entry }) => entry.action.act === 'report recorder' && entry.action.choice)).toEqual([
    'verified',
    'trouble',
    'verified',
  ]);
  for (const { outcome } of reports) expect(outcome).toMatchObject({ accepted: true, reason: '' });
});

it('no display can say it, wherever its person sits; each attempt is an entry, refused', async () => {
  room = await FullRoom.open({ readiness });
  await waitUntil('it is verified', () => recorder()?.state === 'verified' || undefined);
  for (const position of positions) {
    const display = await room.sit(position);
    display.act(1, report('trouble'));
    const { accepted, reason } = await answer(display, 1);
    expect([position, accepted]).toEqual([position, false]);
    expect(reason).toContain('report recorder is for the station itself');
  }
  expect(recorder()?.state).toBe('verified');
  const attempts = (await room.recorded()).filter(({ entry }) => entry.action.act === 'report recorder');
  expect(attempts).toHaveLength(positions.length);
  for (const { outcome } of attempts) expect(outcome.accepted).toBe(false);
});
