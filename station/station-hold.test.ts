/** The evidence hold from a display to the hash list beside the closed recording. */
import { existsSync } from 'node:fs';
import { afterEach, expect, it } from 'vitest';
import { hashListChanges, holdFile, readHashList, removeRecording } from '../replay/recording/hold.ts';
import { Recording } from '../replay/recording/recording.ts';
import { temporaryFolder } from '../test/support/temporary-folder.ts';
import { TestDisplay } from '../test/support/test-display.ts';
import { mission } from '../test/support/tiny-mission.ts';
import { waitUntil } from '../test/support/wait-until.ts';
import { Station } from './station.ts';

let station: Station | undefined;
afterEach(() => station?.close());

it('one act holds the recording at once, and its list comes when the flight is closed', async () => {
  station = await Station.start({
    mode: 'rehearsal',
    mission: mission({ people: [{ id: 'td', name: 'Maud Ellery', position: 'test director' }] }),
    files: [],
    listen: [],
    recordings: temporaryFolder(),
    port: 0,
  });
  const display = await TestDisplay.open(station.links.find(({ person }) => person === 'td')?.address as string);
  const file = station.recordingFile;
  const nothing = { subject: '', number: 0, choice: '', value: 0, aircraft: 0 };
  display.act(1, { act: 'hold evidence', text: 'hard landing', ...nothing });
  await waitUntil('it is done', () => display.result(1) !== undefined);
  expect(display.result(1)).toMatchObject({ accepted: true });
  const held = (): Recording['held'] => {
    const recording = Recording.open(file);
    try {
      return recording.held;
    } finally {
      recording.close();
    }
  };
  await waitUntil('the recording says so', () => held() !== undefined);
  expect(held()).toMatchObject({ person: 'td', position: 'test director', reason: 'hard landing' });
  expect(() => removeRecording(file)).toThrow(/another station is recording/);
  expect(existsSync(holdFile(file))).toBe(false);

  display.act(2, { act: 'close flight' });
  await waitUntil('the next recording is begun', () => station?.recordingFile !== file);
  await waitUntil('the list is there', () => existsSync(holdFile(file)));
  const list = readHashList(file);
  expect(list).toMatchObject({ person: 'td', reason: 'hard landing' });
  expect(list && hashListChanges(file, list)).toEqual([]);
  expect(() => removeRecording(file)).toThrow(/held as evidence/);
  // the next flight is another recording, and nobody held it
  const next = station.recordingFile;
  await station.close();
  expect(existsSync(holdFile(next))).toBe(false);
});
