/**
 * What a display keeps on its own machine, so that neither a silent station nor a reload of the page loses it: calls not
 * filed yet, each under its own key, and what is needed to log one before the station answers.
 */
import type { BriefedWords } from '../../protocol/stop-call.ts';
import { type WaitingCall, waitingFrom, waitingText } from '../state/waiting-call.ts';

const CALL = 'groundchase.call.';
const BRIEFING = 'groundchase.briefing';

export interface Briefing {
  words: BriefedWords;
  person: string;
  personName: string;
  position: string;
}

/** One item a call: two windows of one browser never write over each other's. */
export class Kept {
  readonly #storage: Storage | undefined;

  constructor() {
    try {
      this.#storage = window.localStorage;
    } catch {
      // a browser set to keep nothing: then calls last as long as the page
      this.#storage = undefined;
    }
  }

  /** False when it did not reach the machine's storage. */
  keep(call: WaitingCall): boolean {
    return this.#write(CALL + (call.action.key ?? ''), waitingText([call]));
  }

  drop(key: string): void {
    this.#storage?.removeItem(CALL + key);
  }

  /** Oldest first. */
  calls(): WaitingCall[] {
    const storage = this.#storage;
    if (!storage) return [];
    const keys = Array.from({ length: storage.length }, (_, i) => storage.key(i) ?? '');
    return keys
      .filter((key) => key.startsWith(CALL))
      .flatMap((key) => waitingFrom(storage.getItem(key)))
      .sort((a, b) => a.clock - b.clock);
  }

  keepBriefing(briefing: Briefing): void {
    this.#write(BRIEFING, JSON.stringify(briefing));
  }

  briefing(): Briefing | undefined {
    try {
      const kept = JSON.parse(this.#storage?.getItem(BRIEFING) ?? 'null') as Briefing | null;
      return kept && Array.isArray(kept.words?.class1) && Array.isArray(kept.words?.class2) ? kept : undefined;
    } catch {
      return undefined;
    }
  }

  #write(key: string, text: string): boolean {
    try {
      this.#storage?.setItem(key, text);
      return this.#storage !== undefined;
    } catch {
      return false;
    }
  }
}
