import type { Entry } from '../../protocol/entry.ts';
import { groundTime } from '../../protocol/time.ts';

/** The entry at place `i` of the stream that is killed: its content follows from its place. */
export function crashEntry(i: number, ground: number): Entry {
  if (i % 7 === 3) return { kind: 'tick', ground: groundTime(ground) };
  const bytes = Uint8Array.from({ length: 300 + (i % 90) }, (_, k) => (i * 131 + k * k * 7) & 255);
  return { kind: 'frame', ground: groundTime(ground), input: 'udp', bytes };
}
