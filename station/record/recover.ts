/**
 * Going on after a crash: the newest recording that was not closed, the fold brought to where the recording ends, and
 * the lines that the crash kept from being written.
 */
import { existsSync } from 'node:fs';
import type { AlarmEvent } from '../../protocol/alarm.ts';
import type { ActionEntry, Entry } from '../../protocol/entry.ts';
import type { Fold, Outputs } from '../../protocol/fold.ts';
import type { GroundTime } from '../../protocol/time.ts';
import { Recording } from '../../replay/recording/recording.ts';
import { actionRows, alarmRow, type NewRow } from '../../replay/recording/rows.ts';
import { foldTo } from '../../replay/restore.ts';

/** Handed to the recorder, so that it goes on with the same file. */
export interface Recovery {
  file: string;
  /** entries in it */
  entries: number;
  /** ground time of the last one; what follows must not be earlier */
  ground: GroundTime;
  /** lines the fold puts out for entries of the file, but that are not in its tables yet */
  rows: NewRow[];
}

export interface Recovered<F extends Fold> extends Recovery {
  fold: F;
  /** entries of the snapshot it began with */
  began: number;
}

/**
 * Finds the newest unclosed recording of a folder and folds it to its end. `outputs` hears what the entries after the
 * snapshot bring. Undefined when there is none.
 */
export function recoverRecording<F extends Fold>(
  dir: string,
  makeFold: () => F,
  outputs?: (outputs: Outputs, fold: F) => void,
): Recovered<F> | undefined {
  const file = existsSync(dir) ? Recording.unfinished(dir)[0] : undefined;
  if (file === undefined) return undefined;
  const recording = Recording.open(file);
  try {
    return foldToEnd(recording, makeFold, outputs);
  } finally {
    recording.close();
  }
}

function foldToEnd<F extends Fold>(
  recording: Recording,
  makeFold: () => F,
  hear: ((outputs: Outputs, fold: F) => void) | undefined,
): Recovered<F> {
  const entries = recording.length;
  const began = recording.snapshotBefore({ entry: entries })?.entry ?? 0;
  const lines: { entry: number; event: AlarmEvent }[] = [];
  const results: NewRow[] = [];
  const known = new Set(recording.actions(began).map((outcome) => outcome.entry));
  const waiting = new Map<string, { entry: number; action: ActionEntry }>();
  const collect = (outputs: Outputs, fold: F, entry: Entry | undefined, index: number): void => {
    if (entry?.kind === 'action') waiting.set(`${entry.person} ${entry.request}`, { entry: index, action: entry });
    for (const event of outputs.alarms) lines.push({ entry: Math.min(index + 1, entries), event: { ...event } });
    for (const { person, request, accepted, reason } of outputs.results) {
      const found = waiting.get(`${person} ${request}`);
      waiting.delete(`${person} ${request}`);
      if (found && !known.has(found.entry)) results.push(...actionRows({ ...found, accepted, reason }));
    }
    hear?.(outputs, fold);
  };
  const folded = foldTo(recording, makeFold, entries, { outputsFrom: began, outputs: collect });
  // Lines come in the same order again, so the ones that are missing are the last.
  const kept = recording.alarms(began + 1).length;
  const rows = [...lines.slice(kept).map(({ entry, event }) => alarmRow(entry, event)), ...results];
  return { ...folded, file: recording.file, entries, ground: recording.span.to, rows };
}
