/** `groundchase live`: a station for a real flight. */
import { existsSync, realpathSync } from 'node:fs';
import { basename, dirname, join, relative, resolve, sep } from 'node:path';
import type { Mission } from '../../protocol/mission.ts';
import { AccountBook } from '../access/account-book.ts';
import { AccountError } from '../access/account-file.ts';
import { Station } from '../station.ts';
import { accountsOption } from './account.ts';
import { type Command, exitCode, jsonOption, print, printJson, say, Trouble } from './command.ts';
import { displayTrouble, portOption, recordingsFolder, started, untilStopped, usableMission } from './running.ts';

export const command: Command = {
  name: 'live',
  summary: 'follow a flight: receive, record, check, alarm and show it',
  usage: '',
  details: `Prints the address of the display, where people sign in by the id and password of their account (groundchase account);
what each may do follows from the position mission.yaml gives them. Without any account there is a viewing link alone,
and nobody can act. A flight that a crash cut off goes on in its recording.
Ends at Ctrl-C, with the recording closed.

Example: groundchase live --listen udp://0.0.0.0:47010 --mission ./mission --recordings /data/flights`,
  options: [
    {
      name: 'listen',
      kind: 'text',
      value: 'ADDRESS',
      required: true,
      repeatable: true,
      summary:
        'where telemetry comes in: udp://HOST:PORT (a multicast group may name ?interface=ADDRESS), tcp://HOST:PORT or ws://HOST:PORT',
    },
    { name: 'mission', kind: 'text', value: 'DIR', required: true, summary: 'the mission folder' },
    {
      name: 'recordings',
      kind: 'text',
      value: 'DIR',
      default: recordingsFolder,
      summary: 'folder of the recordings; made when missing',
    },
    accountsOption,
    portOption,
    jsonOption,
  ],
  async run(args) {
    const loaded = usableMission(args.text('mission'));
    if (loaded === undefined) return exitCode.finding;
    const accounts = openAccounts(args.text('accounts'), args.text('mission'));
    const stopped = untilStopped();
    const station = await started(
      Station.start({
        mode: 'live',
        ...loaded,
        listen: args.texts('listen'),
        recordings: args.text('recordings'),
        port: args.number('port'),
        accounts,
      }),
    );
    const { address, links, inputs, recordingFile, notices } = station;
    if (args.flag('json')) printJson({ address, links, inputs, recording: recordingFile, notices });
    else {
      print(address);
      for (const link of links) print(`${link.address}  ${link.name} (may look, not act)`);
    }
    for (const input of inputs) say(`listening on ${input}`);
    say(`recording to ${recordingFile}`);
    for (const notice of [whoCanAct(loaded.mission, accounts), ...notices, displayTrouble()])
      if (notice !== '') say(notice);
    await stopped;
    await station.close();
    say(`closed ${recordingFile}`);
    return exitCode.success;
  },
};

/** Throws Trouble for a file that cannot be used, or that stands where the mission is kept and passed on. */
function openAccounts(file: string, mission: string): AccountBook {
  const way = relative(realpathSync(mission), real(file));
  const isOutside = way === '..' || way.startsWith(`..${sep}`) || resolve(way) === way;
  if (!isOutside)
    throw new Trouble(
      `${file}: accounts are kept outside the mission folder, which a team passes on; name another --accounts`,
    );
  try {
    return new AccountBook(file, (trouble) => say(trouble === '' ? `${file}: can be read again` : trouble));
  } catch (error) {
    throw error instanceof AccountError ? new Trouble(error.message) : error;
  }
}

/** The path without links, of a file that need not be there. */
function real(file: string): string {
  const whole = resolve(file);
  if (existsSync(whole)) return realpathSync(whole);
  const above = dirname(whole);
  return above === whole ? whole : join(real(above), basename(whole));
}

/** What a person should know before the flight: who of the mission cannot act. '' when all can. */
function whoCanAct({ people }: Mission, accounts: AccountBook): string {
  if (accounts.size === 0)
    return `There are no accounts in ${accounts.file}: the viewing link lets people look, and nobody can act. "groundchase account add ID --name NAME" makes one.`;
  const without = people.filter(({ id }) => accounts.find(id)?.disabled !== false);
  if (without.length === 0) return '';
  return `No account that is enabled, so they cannot act: ${without.map(({ id, position }) => `${id} (${position})`).join(', ')}.`;
}
