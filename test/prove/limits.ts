/** Random flights until enough samples went through the limits, each against the slow referees (reference/room-walk.ts). */
import { walkRoom } from '../reference/room-walk.ts';
import type { Effort } from './effort.ts';

export async function proveLimits({ seed, amount }: Effort): Promise<boolean> {
  const lines = new Map<string, number>();
  let samples = 0;
  let flights = 0;
  let told = 0;
  for (; samples < amount; flights++) {
    try {
      const walked = walkRoom(seed + flights);
      samples += walked.samples;
      for (const { event } of walked.lines) lines.set(event, (lines.get(event) ?? 0) + 1);
    } catch (error) {
      console.log((error as Error).message);
      return false;
    }
    if (samples - told < amount / 10) continue;
    told = samples;
    console.log(`  ${flights + 1} flights, ${samples} samples`);
  }
  const all = [...lines].map(([event, count]) => `${event} ${count}`).join(', ');
  console.log(`  seeds ${seed} to ${seed + flights - 1}, ${samples} samples, no line missed, none too many: ${all}`);
  return true;
}
