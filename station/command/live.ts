/** `groundchase live`: a station for a real flight. */
import { Station } from '../station.ts';
import { type Command, exitCode, jsonOption, print, printJson, say } from './command.ts';
import { displayTrouble, portOption, recordingsFolder, started, untilStopped, usableMission } from './running.ts';

export const command: Command = {
  name: 'live',
  summary: 'follow a flight: receive, record, check, alarm and show it',
  usage: '',
  details: `Prints the address of the display, then a viewing link. A flight that a crash cut off goes on in its recording.
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
    portOption,
    jsonOption,
  ],
  async run(args) {
    const loaded = usableMission(args.text('mission'));
    if (loaded === undefined) return exitCode.finding;
    const stopped = untilStopped();
    const station = await started(
      Station.start({
        mode: 'live',
        ...loaded,
        listen: args.texts('listen'),
        recordings: args.text('recordings'),
        port: args.number('port'),
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
    for (const notice of [...notices, displayTrouble()]) if (notice !== '') say(notice);
    await stopped;
    await station.close();
    say(`closed ${recordingFile}`);
    return exitCode.success;
  },
};
