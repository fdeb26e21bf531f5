/** `groundchase info`: what a recording holds, whether anything of it was changed, and its alarm list. */
import { statSync } from 'node:fs';
import type { AlarmEvent } from '../../protocol/alarm.ts';
import { clockText, isoText } from '../../protocol/time.ts';
import { type HeldBy, hashListChanges, readHashList } from '../../replay/recording/hold.ts';
import { RecordingError } from '../../replay/recording/open.ts';
import { Recording } from '../../replay/recording/recording.ts';
import type { Verification } from '../../replay/recording/verify.ts';
import { type Arguments, type Command, exitCode, jsonOption, print, printJson, say, Trouble } from './command.ts';

export const command: Command = {
  name: 'info',
  summary: 'tell what a recording holds, and verify that nothing of it was changed',
  usage: 'FILE',
  details: `With --verify every block and row is checked against the hash chain of the recording; whatever was changed is named,
and the exit code is 1. Of one that is held as evidence the hash list is always checked. The last chain value, noted elsewhere after the flight, proves later that nothing was replaced.`,
  options: [
    { name: 'verify', kind: 'flag', summary: 'check everything against the hash chain' },
    { name: 'alarms', kind: 'flag', summary: 'list the alarm lines of the flight' },
    jsonOption,
  ],
  async run(args) {
    try {
      const recording = Recording.open(args.operand);
      try {
        return tell(recording, args);
      } finally {
        recording.close();
      }
    } catch (error) {
      throw error instanceof RecordingError ? new Trouble(error.message) : error;
    }
  },
};

function tell(recording: Recording, args: Arguments): number {
  // first: what is changed may make the rest unreadable
  const verification = args.flag('verify') ? recording.verify() : undefined;
  const held = heldOf(recording);
  const damaged = (verification !== undefined && !verification.intact) || (held?.changes.length ?? 0) > 0;
  const facts = damaged ? undefined : factsOf(recording);
  const alarms = args.flag('alarms') && !damaged ? recording.alarms() : undefined;
  if (args.flag('json')) {
    printJson({
      file: recording.file,
      ...facts,
      ...(held && { held }),
      ...(verification && { verification }),
      ...(alarms && { alarms }),
    });
  } else {
    for (const [what, value] of Object.entries(facts ?? {})) if (value !== '') print(`${what}: ${shown(value)}`);
    if (alarms) for (const line of alarms) print(alarmText(line));
    if (held) tellHeld(held);
    if (verification) tellVerification(verification);
  }
  return damaged ? exitCode.finding : exitCode.success;
}

interface Held extends HeldBy {
  /** there is a hash list, and what is not as it says */
  list: boolean;
  changes: string[];
}

/** Who holds it as evidence, and whether it is as it was then. */
function heldOf(recording: Recording): Held | undefined {
  try {
    const list = readHashList(recording.file);
    if (list) return { ...byOf(list), list: true, changes: hashListChanges(recording.file, list) };
  } catch (error) {
    if (!(error instanceof RecordingError)) throw error;
    const unknown = { person: '', position: '', reason: '', held: '' };
    return { ...(recording.held ?? unknown), list: true, changes: [error.message] };
  }
  return recording.held && { ...recording.held, list: false, changes: [] };
}

const byOf = ({ person, position, reason, held }: HeldBy): HeldBy => ({ person, position, reason, held });

function tellHeld({ person, position, reason, held, list, changes }: Held): void {
  print(
    `held as evidence: since ${held || 'unknown'} by ${person || 'unknown'}${position && ` (${position})`}: ${reason}`,
  );
  for (const change of changes) print(`changed: ${change}`);
  if (!list) print('hash list: none yet; it is written when the recording is closed, or by groundchase hold');
  else if (changes.length === 0) print('hash list: every byte is as it was held');
}

function factsOf(recording: Recording) {
  const { about, length, span } = recording;
  const { packed, plain } = recording.packing;
  const losses = recording.losses();
  const mission = recording.configurationBefore(length)?.mission;
  const flight = recording
    .actions()
    .findLast(({ action, accepted }) => accepted && action.action.act === 'name flight');
  const named = flight?.action.action;
  return {
    state: about['state'] ?? '',
    station: about['station'] ?? '',
    origin: about['origin'] ?? '',
    source: about['source'] ?? '',
    started: about['started'] ?? '',
    mission: mission?.name ?? '',
    baseline: mission?.baselineId ?? '',
    flight: named?.act === 'name flight' ? named.number : '',
    from: span.from > 0 ? isoText(span.from) : '',
    to: span.to > 0 ? isoText(span.to) : '',
    seconds: (span.to - span.from) / 1e6,
    entries: length,
    'lost entries': losses.reduce((sum, loss) => sum + loss.entries, 0),
    'alarm lines': recording.alarms().length,
    actions: recording.actions().length,
    marks: recording.marks().length,
    snapshots: recording.snapshots,
    bytes: statSync(recording.file).size,
    'packed to': plain > 0 ? packed / plain : 1,
    'last chain value': about['final_chain'] ?? '',
  };
}

const shown = (value: string | number): string =>
  typeof value === 'string' ? value : String(Number.isInteger(value) ? value : Number(value.toFixed(3)));

function alarmText({ aircraft, alarm, event, level, value, limitValue, position, person }: AlarmEvent): string {
  const numbers = Number.isNaN(value) ? '' : `value ${value}`;
  const limit = Number.isNaN(limitValue) ? '' : `limit ${limitValue}`;
  const who = person === '' ? '' : `by ${person} (${position})`;
  return [clockText(aircraft), alarm, event, level, numbers, limit, who].filter(Boolean).join('  ');
}

function tellVerification({ intact, blocks, entries, rows, changes, notes }: Verification): void {
  for (const { table, number, text } of changes) print(`changed: ${table}${number > 0 ? ` ${number}` : ''}: ${text}`);
  for (const note of notes) say(`note: ${note}`);
  const checked = `${blocks} blocks with ${entries} entries and ${rows} rows`;
  print(intact ? `nothing was changed: ${checked} checked` : `${changes.length} changes found: ${checked} checked`);
}
