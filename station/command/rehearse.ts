/** `groundchase rehearse`: a whole practice flight on one machine. */
import { type ChildProcess, spawn } from 'node:child_process';
import { createRequire } from 'node:module';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { Station } from '../station.ts';
import { type Command, exitCode, print, say } from './command.ts';
import {
  displayTrouble,
  portOption,
  rehearsalMission,
  rehearsalsFolder,
  started,
  untilStopped,
  usableMission,
} from './running.ts';
import { openScenario } from './send.ts';

export const command: Command = {
  name: 'rehearse',
  summary: 'fly a rehearsal: the station and the invented aircraft on this machine',
  usage: '[SCENARIO]',
  details: `Prints the address of the display, then a sign-in link for each invented person; opens no browser. The aircraft is a
process of its own and sends over the real input. Ends at Ctrl-C.

Example: groundchase rehearse first-flight --port 0`,
  options: [
    portOption,
    {
      name: 'recordings',
      kind: 'text',
      value: 'DIR',
      default: rehearsalsFolder,
      summary: 'folder of the recordings; made when missing',
    },
    {
      name: 'seed',
      kind: 'number',
      value: 'N',
      whole: true,
      min: 0,
      summary: 'where all chance of the flight comes from',
    },
  ],
  async run(args) {
    const scenario = args.operand || 'first-flight';
    const loaded = usableMission(rehearsalMission);
    if (loaded === undefined || openScenario(scenario) === undefined) return exitCode.finding;
    const stopped = untilStopped();
    const station = await started(
      Station.start({
        mode: 'rehearsal',
        ...loaded,
        listen: ['udp://127.0.0.1:0'],
        recordings: args.text('recordings'),
        port: args.number('port'),
      }),
    );
    print(station.address);
    for (const { address, name, position } of station.links) print(`${address}  ${name}, ${position}`);
    say(`recording to ${station.recordingFile}`);
    for (const notice of [...station.notices, displayTrouble()]) if (notice !== '') say(notice);
    const seed = args.optionalNumber('seed');
    const aircraft = fly(scenario, station.inputs[0] as string, seed);
    await stopped;
    const died = await land(aircraft);
    await station.close();
    say(`closed ${station.recordingFile}`);
    return died ? exitCode.finding : exitCode.success;
  },
};

interface Aircraft {
  child: ChildProcess;
  /** true when it ended by itself, and not at the end of its flight */
  died: Promise<boolean>;
  landing: boolean;
}

/** The aircraft sends over the real input from a process of its own, which ends when this one does. */
function fly(scenario: string, to: string, seed: number | undefined): Aircraft {
  const tsx = pathToFileURL(createRequire(import.meta.url).resolve('tsx')).href;
  const script = fileURLToPath(new URL('./groundchase.ts', import.meta.url));
  const words = ['send', scenario, '--to', to, ...(seed === undefined ? [] : ['--seed', String(seed)])];
  const child = spawn(process.execPath, ['--import', tsx, script, ...words], {
    // Its result is no result of ours: it goes where everything else goes.
    stdio: ['ignore', process.stderr, process.stderr, 'ipc'],
  });
  const aircraft: Aircraft = { child, died: Promise.resolve(false), landing: false };
  aircraft.died = new Promise((resolve) => {
    child.once('error', (error) => {
      say(`The rehearsal aircraft cannot be started: ${error.message}`);
      resolve(true);
    });
    child.once('exit', (code, signal) => {
      const died = !aircraft.landing && code !== 0;
      if (died)
        say(`The rehearsal aircraft died (${signal ?? `exit code ${code}`}). Stop with Ctrl-C and start again.`);
      else if (!aircraft.landing) say('The rehearsal aircraft has ended its flight. The station stays until Ctrl-C.');
      resolve(died);
    });
  });
  return aircraft;
}

/** Milliseconds the aircraft gets to end by itself. */
const PATIENCE = 3000;

async function land(aircraft: Aircraft): Promise<boolean> {
  aircraft.landing = true;
  aircraft.child.kill('SIGTERM');
  const force = setTimeout(() => aircraft.child.kill('SIGKILL'), PATIENCE);
  try {
    return await aircraft.died;
  } finally {
    clearTimeout(force);
  }
}
