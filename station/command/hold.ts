/** `groundchase hold`: keeps a recording as evidence, in one action. */
import { existsSync, realpathSync } from 'node:fs';
import { resolve } from 'node:path';
import { groundTime } from '../../protocol/time.ts';
import { heldAt, holdFile, holdRecording } from '../../replay/recording/hold.ts';
import { RecordingError } from '../../replay/recording/open.ts';
import { Recording } from '../../replay/recording/recording.ts';
import { type Command, exitCode, jsonOption, print, printJson, say, Trouble, WrongUse } from './command.ts';

export const command: Command = {
  name: 'hold',
  summary: 'hold a recording as evidence: a hash list beside it, both read-only, never removed',
  usage: 'FILE',
  details: `Writes FILE.held, which \`sha256sum -c\` can check too: the SHA-256 of the whole file, the final chain value, the number of
blocks, who holds it, when and why. In the room the same is one act; the list then comes when the recording is closed.
The recording is verified first; one that was changed is held all the same, and the exit code is 1.`,
  options: [
    { name: 'reason', kind: 'text', required: true, summary: 'why it is held' },
    { name: 'person', kind: 'text', value: 'NAME', required: true, summary: 'who holds it' },
    jsonOption,
  ],
  async run(args) {
    const [reason, person] = [args.text('reason').trim(), args.text('person').trim()];
    if (reason === '' || person === '') throw new WrongUse('a hold needs a reason and a person');
    const named = resolve(args.operand);
    const file = existsSync(named) ? realpathSync(named) : named;
    try {
      const changes = whatWasChanged(file);
      const by = heldAt(groundTime(Date.now() * 1000), { person, position: '', reason });
      const list = holdRecording(file, roomOr(file, by));
      if (args.flag('json')) printJson({ file: holdFile(file), ...list, changes });
      else {
        print(`held: ${holdFile(file)}`);
        for (const { name, sha256 } of list.files) print(`${sha256}  ${name}`);
        print(`${list.blocks} blocks, final chain value ${list.chain || 'cannot be read'}`);
      }
      for (const change of changes) say(`it was changed before it was held: ${change}`);
      return changes.length === 0 ? exitCode.success : exitCode.finding;
    } catch (error) {
      throw error instanceof RecordingError ? new Trouble(error.message) : error;
    }
  },
};

/** Whoever held it in the room is the one who holds it; this call then only adds the list. */
function roomOr(file: string, by: ReturnType<typeof heldAt>): ReturnType<typeof heldAt> {
  const recording = opened(file);
  const held = recording?.held;
  recording?.close();
  return held ? { ...held, reason: `${held.reason}; list by ${by.person} at ${by.held}: ${by.reason}` } : by;
}

function opened(file: string): Recording | undefined {
  try {
    return Recording.open(file);
  } catch {
    return undefined;
  }
}

function whatWasChanged(file: string): string[] {
  if (!existsSync(file) || existsSync(holdFile(file))) return [];
  const recording = opened(file);
  if (recording === undefined) return ['it cannot be read as a recording'];
  try {
    return recording.verify().changes.map(({ table, number, text }) => `${table} ${number}: ${text}`);
  } finally {
    recording.close();
  }
}
