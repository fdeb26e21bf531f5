/** What commands share that run until they are told to stop. */
import { homedir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { displayFolder } from '../displays.ts';
import { type LoadedMission, loadMission } from '../mission/load.ts';
import { displayMissing, isDisplayBuilt } from '../serve/http.ts';
import { StartError } from '../start-error.ts';
import { type CommandOption, sayFindings, Trouble } from './command.ts';

export const portOption: CommandOption = {
  name: 'port',
  kind: 'number',
  value: 'PORT',
  min: 0,
  max: 65_535,
  whole: true,
  default: 47_000,
  summary: 'port of the display on this machine; 0 = any free one',
};

export const recordingsFolder = join(homedir(), 'groundchase', 'recordings');
export const rehearsalsFolder = join(homedir(), 'groundchase', 'rehearsals');
export const rehearsalMission = fileURLToPath(new URL('../../replay/rehearsal/mission', import.meta.url));

/** A mission that can be flown, or undefined after all that is wrong with it was told. */
export function usableMission(folder: string): LoadedMission | undefined {
  const loaded = loadMission(folder);
  if (loaded.value !== undefined) return loaded.value;
  sayFindings(loaded.findings);
  return undefined;
}

/** Turns what keeps something from starting into a message without a stack. */
export async function started<T>(start: Promise<T>): Promise<T> {
  try {
    return await start;
  } catch (error) {
    if (error instanceof StartError) throw new Trouble(error.message);
    throw error;
  }
}

/** Why there is nothing to show on a screen; '' when there is. */
export const displayTrouble = (): string => (isDisplayBuilt(displayFolder) ? '' : displayMissing);

/** Resolves at Ctrl-C, a supervisor's request, or when the process that started this one is gone. */
export function untilStopped(): Promise<void> {
  return new Promise((resolve) => {
    const stop = () => {
      for (const signal of signals) process.off(signal, stop);
      process.off('disconnect', stop);
      resolve();
    };
    for (const signal of signals) process.on(signal, stop);
    process.on('disconnect', stop);
    // Whoever started this process with a channel may be gone before anybody listened for it.
    if (process.send !== undefined && !process.connected) stop();
  });
}

const signals = ['SIGINT', 'SIGTERM', 'SIGHUP'] as const;
