/** What was written is read back and compared: the chain of the whole recording, and the newest entries one by one. */
import { createHash } from 'node:crypto';
import { statSync } from 'node:fs';
import type { Entry } from '../../protocol/entry.ts';
import { encodeEntries } from '../../protocol/wire.ts';
import { Recording } from '../../replay/recording/recording.ts';

export interface ReadBack {
  state: 'verified' | 'trouble';
  /** what was found, in words */
  text: string;
}

/** What was given to the recorder: the number of the first of these entries, and what each of them was. */
export interface Given {
  from: number;
  digests: string[];
}

/** A recording larger than this is not verified as a whole while it is written: reading it would hold up the writing. */
const WHOLE_BYTES = 200 << 20;

export const digestOf = (entry: Entry): string =>
  createHash('sha256')
    .update(encodeEntries([entry]))
    .digest('hex');

/** Opens the file anew, by a connection of its own. Never throws. */
export function readBack(file: string, { from, digests }: Given): ReadBack {
  try {
    const recording = Recording.open(file);
    try {
      const fault = chainFault(file, recording) || entryFault(recording, { from, digests });
      if (fault !== '') return { state: 'trouble', text: fault };
      const chain = isWhole(file) ? 'the chain is intact' : 'the recording is too long to verify its chain in flight';
      return { state: 'verified', text: `${digests.length} entries written and read back the same; ${chain}` };
    } finally {
      recording.close();
    }
  } catch (error) {
    return { state: 'trouble', text: `what was written cannot be read back: ${(error as Error).message}` };
  }
}

const isWhole = (file: string): boolean => statSync(file).size <= WHOLE_BYTES;

function chainFault(file: string, recording: Recording): string {
  if (!isWhole(file)) return '';
  const { intact, changes } = recording.verify();
  if (intact) return '';
  const [first] = changes;
  const more = changes.length > 1 ? `, and ${changes.length - 1} more` : '';
  return `what was written is not what is in the file: ${first?.table} ${first?.number}: ${first?.text}${more}`;
}

function entryFault(recording: Recording, { from, digests }: Given): string {
  let n = 0;
  for (const entry of recording.entries(from)) {
    if (n === digests.length) break;
    if (digestOf(entry) !== digests[n]) return `entry ${from + n} was read back as another one`;
    n++;
  }
  return n < digests.length ? `${digests.length - n} of ${digests.length} entries are missing in the file` : '';
}
