/** Which sequence a person wants to see, and how long its step has been due. */
import type { ConductView, SequenceView } from '../../protocol/conduct.ts';

const running: readonly SequenceView['state'][] = ['running', 'late'];
/** It has begun and not ended, as far as anybody can see. */
export const isUnderWay = ({ began, ended, state }: SequenceView): boolean =>
  running.includes(state) || (state === 'cannot tell' && began > 0 && ended === 0);

/** The one under way, else the one that began last, else the first; undefined where there is none. */
export function sequenceInView(conduct: ConductView | undefined): SequenceView | undefined {
  const all = conduct?.sequences ?? [];
  const newest = (some: readonly SequenceView[]) =>
    some.reduce<SequenceView | undefined>((last, one) => (last && last.began >= one.began ? last : one), undefined);
  return newest(all.filter(isUnderWay)) ?? newest(all.filter(({ times }) => times > 0)) ?? all[0];
}

/**
 * Microseconds of aircraft time that the first step not yet done has taken so far; NaN when none is due or time is unknown.
 * A step is counted from the one before it, the first from the beginning.
 */
export function dueFor(view: SequenceView, now: number): number {
  if (!isUnderWay(view) || now === 0) return Number.NaN;
  const from = view.steps.reduce((last, { at }) => Math.max(last, at), view.began);
  return Math.max(0, now - from);
}

/** The step that is due, overdue or cannot be seen: the one everybody waits for. */
export const stepInView = (view: SequenceView): SequenceView['steps'][number] | undefined =>
  isUnderWay(view) ? view.steps.find(({ state }) => ['due', 'missing', 'cannot tell'].includes(state)) : undefined;
