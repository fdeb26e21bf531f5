/**
 * The phase of flight the slow, obvious way: at each sample everything is looked up again in all samples so far, by what
 * README.md says of phases. Shares only the declared shape with what it is compared to.
 */
import { type PhaseMachine, phaseNumber } from '../../protocol/phase.ts';

/** One sample of what drives the machine: value and validity code of each condition, by its id. */
export interface Seen {
  time: number;
  of: Record<string, { value: number; code: number }>;
}

const usable = (code: number) => code < 8;

/** Phase and validity code after each sample. */
export function slowPhases(machine: PhaseMachine, samples: readonly Seen[]): { phase: number; code: number }[] {
  let phase = 0;
  /** sample on which the phase began; -1 for the first phase, which began before all samples */
  let began = -1;
  return samples.map((sample, n) => {
    const transitions = machine.phases[phase]?.transitions ?? [];
    const from = Math.max(began, 0);
    const steps = samples.flatMap(({ time }, k) => (k > 0 && time < (samples[k - 1] as Seen).time ? [k] : []));
    const timeBegins = (k: number) => Math.max(from, ...steps.filter((step) => step <= k));
    const at = (k: number, when: string) => (samples[k] as Seen).of[when] as { value: number; code: number };

    const isDue = ({ when, for: needed }: (typeof transitions)[number]) => {
      if (!usable(at(n, when).code) || at(n, when).value === 0) return false;
      let first = n;
      for (let k = n; k >= timeBegins(n); k--) {
        if (!usable(at(k, when).code)) continue;
        if (at(k, when).value === 0) break;
        first = k;
      }
      return sample.time - (samples[first] as Seen).time >= needed;
    };
    const isLost = ({ when }: (typeof transitions)[number]) => {
      if (usable(at(n, when).code)) return false;
      let first = n;
      while (first > from && !usable(at(first - 1, when).code)) first--;
      if (first === 0 && began < 0) return true;
      for (let k = first; k <= n; k++) {
        const since = Math.max(first, timeBegins(k));
        if ((samples[k] as Seen).time - (samples[since] as Seen).time > machine.hold) return true;
      }
      return false;
    };

    const mark = Math.max(0, ...transitions.map(({ when }) => at(n, when).code).filter(usable));
    const taken = transitions.find(isDue);
    if (!taken) return { phase, code: transitions.some(isLost) ? 15 : mark };
    phase = phaseNumber(machine, taken.to);
    began = n;
    return { phase, code: mark };
  });
}
