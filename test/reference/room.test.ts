import { describe, expect, it } from 'vitest';
import { walkRoom } from './room-walk.ts';

describe('limits and alarms of random flights against their slow referees', () => {
  it('write the same lines, sample for sample, over phases, people who act, changed limits, restarts and batch cuts', () => {
    const first = 4001;
    const flights = 250;
    const seen = new Map<string, number>();
    let samples = 0;
    for (let seed = first; seed < first + flights; seed++) {
      const walked = walkRoom(seed);
      samples += walked.samples;
      for (const { event } of walked.lines) seen.set(event, (seen.get(event) ?? 0) + 1);
    }
    console.log(
      `seeds ${first} to ${first + flights - 1}: ${samples} samples, ${JSON.stringify(Object.fromEntries(seen))}`,
    );
    expect(samples).toBeGreaterThan(300_000);
    const all = ['raised', 'escalated', 'eased', 'cleared', 'cannot tell', 'acknowledged', 'freed'];
    const aside = ['shelved', 'suppressed', 'out of service', 'in service'];
    for (const event of [...all, ...aside]) expect([event, (seen.get(event) ?? 0) > 10]).toEqual([event, true]);
  });
});
