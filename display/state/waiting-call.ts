/** A stop call that was made here and that the station has not taken yet, as it is kept over a reload of the page. */
import type { StopCallAction } from '../../protocol/entry.ts';

export interface WaitingCall {
  action: StopCallAction;
  /** who logged it here; nobody else's sign-in sends it by itself */
  person: string;
  personName: string;
  /** clock of this machine when it was logged, milliseconds: what has passed since is known though ground time was not */
  clock: number;
  /** why the station did not take it; '' while it was not asked */
  refused: string;
}

export const waitingText = (calls: readonly WaitingCall[]): string => JSON.stringify(calls);

const text = (value: unknown): string => (typeof value === 'string' ? value : '');
const time = (value: unknown): number =>
  Number.isSafeInteger(value) && (value as number) >= 0 ? (value as number) : 0;

function callFrom(kept: unknown): WaitingCall[] {
  const { action, person, personName, clock, refused } = (kept ?? {}) as Record<string, unknown>;
  const said = (action ?? {}) as Record<string, unknown>;
  const made = (said['made'] ?? {}) as Record<string, unknown>;
  const key = text(said['key']);
  // without its key a call sent again would be a second one
  if (key === '') return [];
  return [
    {
      action: {
        act: 'stop call',
        stopClass: said['stopClass'] === 2 ? 2 : 1,
        word: text(said['word']),
        reason: text(said['reason']),
        caller: text(said['caller']),
        alarm: text(said['alarm']),
        key,
        made: { aircraft: time(made['aircraft']), ground: time(made['ground']) },
      },
      person: text(person),
      personName: text(personName),
      clock: time(clock),
      refused: text(refused),
    },
  ];
}

/** Inverse of `waitingText`; what cannot be read is left out. */
export function waitingFrom(kept: string | null): WaitingCall[] {
  try {
    const list: unknown = JSON.parse(kept ?? '[]');
    return Array.isArray(list) ? list.flatMap(callFrom) : [];
  } catch {
    return [];
  }
}
