/**
 * Automation, sequences and validity the slow, obvious way: at each sample the whole history is looked through again, by
 * what README.md says of these limits. Shares only words and codes with what it is compared to.
 */
export type Known = boolean | undefined;

export interface Seen {
  /** microseconds */
  time: number;
  /** each condition: true, false, or undefined when it cannot be told */
  of: Record<string, Known>;
}

export interface SlowResult {
  /** undefined: it cannot be told */
  value: 0 | 1 | undefined;
  detail: string;
}

/** If A then B within so many microseconds, at the newest sample of the history. */
export function slowAutomation(history: readonly Seen[], within: number): SlowResult {
  const now = history.at(-1) as Seen;
  const cause = now.of.cause;
  if (cause === undefined) return { value: undefined, detail: '' };
  if (!cause) return { value: 0, detail: '' };
  // the cause has stood since the first sample on which it was true after the last on which it was false
  const lastFalse = history.findLastIndex(({ of }) => of.cause === false);
  const since = history.findIndex(({ of }, i) => i > lastFalse && of.cause === true);
  const episode = history.slice(since);
  if (episode.some(({ of }) => of.action === true)) return { value: 0, detail: '' };
  if (now.time - (history[since] as Seen).time <= within) return { value: 0, detail: '' };
  return { value: now.of.action === undefined ? undefined : 1, detail: '' };
}

/** Steps `s0`, `s1`, ... that begin by `begins` and are over by `ends`, at the newest sample of the history. */
export function slowSequence(history: readonly Seen[], steps: readonly { name: string; within: number }[]): SlowResult {
  const begins = (i: number): Known => history[i]?.of.begins;
  const last = history.length - 1;
  const unseen: SlowResult = { value: begins(last) === undefined ? undefined : 0, detail: '' };
  // a beginning: true where the sample that told it last did not say true
  const began = history.findLastIndex((_, i) => {
    if (begins(i) !== true) return false;
    const before = history.slice(0, i).findLast(({ of }) => of.begins !== undefined);
    return before?.of.begins !== true;
  });
  if (began < 0 || history.slice(began).some(({ of }) => of.ends === true)) return unseen;
  let from = (history[began] as Seen).time;
  let next = 0;
  for (let i = began; i <= last; i++) {
    while (next < steps.length && history[i]?.of[`s${next}`] === true) {
      from = (history[i] as Seen).time;
      next++;
    }
  }
  const step = steps[next];
  if (!step) return unseen;
  const now = history[last] as Seen;
  if (now.time - from <= step.within) return { value: 0, detail: '' };
  return now.of[`s${next}`] === undefined ? { value: undefined, detail: '' } : { value: 1, detail: step.name };
}
