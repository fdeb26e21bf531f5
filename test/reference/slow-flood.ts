/** The slow referee of alarm floods at one position: everything is counted again at every question. */

const SECOND = 1_000_000;

interface SlowFlood {
  since: number;
  /** ground time of the earliest announcement that made it */
  from: number;
}

/**
 * Floods of one position up to a moment, all announcements counted again: above ten in ten minutes until below five in
 * ten minutes; above five in ten seconds until a minute is without any. Finished floods with their ends.
 */
export function slowFloods(times: readonly number[], now: number) {
  const finished: (SlowFlood & { to: number })[] = [];
  let flood: SlowFlood | undefined;
  let slow = false;
  let burst = false;
  const within = (upTo: number, at: number, span: number) => times.slice(0, upTo).filter((t) => at - t < span * SECOND);
  const settle = (upTo: number, at: number): void => {
    if (!flood) return;
    const ends: number[] = [];
    if (slow) ends.push((times[upTo - 5] as number) + 600 * SECOND);
    if (burst) ends.push((times[upTo - 1] as number) + 60 * SECOND);
    if (slow && within(upTo, at, 600).length < 5) slow = false;
    if (burst && within(upTo, at, 60).length === 0) burst = false;
    if (slow || burst) return;
    finished.push({ ...flood, to: Math.max(...ends) });
    flood = undefined;
  };
  times.forEach((at, k) => {
    settle(k, at);
    const [tenMinutes, tenSeconds] = [within(k + 1, at, 600), within(k + 1, at, 10)];
    if (tenMinutes.length > 10) slow = true;
    if (tenSeconds.length > 5) burst = true;
    if (flood || !(slow || burst)) return;
    // the announcements that make it are the newest ones that are just too many
    const made = slow ? tenMinutes.slice(-11) : tenSeconds.slice(-6);
    flood = { since: at, from: made[0] as number };
  });
  settle(times.length, now);
  return { finished, flood };
}
