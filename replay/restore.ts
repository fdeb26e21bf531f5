/** A fold brought to any place of a recording: nearest snapshot before it, and the entries between. */
import type { Entry } from '../protocol/entry.ts';
import type { Fold, Outputs } from '../protocol/fold.ts';
import type { Recording } from './recording/recording.ts';

export interface FoldAtOptions<F extends Fold> {
  /** outputs are handed on from here; the snapshot is taken before it. Default: the place itself. */
  outputsFrom?: number;
  outputs?: (outputs: Outputs, fold: F, entry: Entry | undefined, index: number) => void;
}

export interface FoldedTo<F extends Fold> {
  fold: F;
  /** entries of the snapshot it began with; 0 = from the first entry */
  began: number;
}

/**
 * Folds the first `entry` entries. A snapshot that cannot be restored is passed over for an older one; without any the
 * fold begins at the first entry.
 */
export function foldTo<F extends Fold>(
  recording: Recording,
  makeFold: () => F,
  entry: number,
  options: FoldAtOptions<F> = {},
): FoldedTo<F> {
  const outputsFrom = Math.min(options.outputsFrom ?? entry, entry);
  const { fold, began } = begin(recording, makeFold, outputsFrom);
  let index = began;
  if (index < entry) {
    for (const next of recording.entries(index)) {
      const outputs = fold.step(next);
      if (index >= outputsFrom) options.outputs?.(outputs, fold, next, index);
      if (++index >= entry) break;
    }
  }
  const rest = fold.flush();
  if (outputsFrom < entry) options.outputs?.(rest, fold, undefined, entry);
  return { fold, began };
}

function begin<F extends Fold>(recording: Recording, makeFold: () => F, entry: number): FoldedTo<F> {
  for (let at = entry; at > 0; ) {
    const snapshot = recording.snapshotBefore({ entry: at });
    if (!snapshot) break;
    const fold = makeFold();
    try {
      const configuration = recording.configurationBefore(snapshot.entry);
      if (configuration) {
        fold.step(configuration);
        fold.flush();
      }
      fold.restore(snapshot.state);
      return { fold, began: snapshot.entry };
    } catch {
      at = snapshot.entry - 1;
    }
  }
  return { fold: makeFold(), began: 0 };
}
