/** The phase of flight: a machine of states over conditions, decided anew at each sample of what drives it. */
import type { Finding } from '../../protocol/finding.ts';
import type { Derived } from '../../protocol/parameter.ts';
import { type PhaseMachine, phaseNumber } from '../../protocol/phase.ts';
import { NUMBER } from '../../protocol/units.ts';
import { FIRST_UNUSABLE, Validity } from '../../protocol/validity.ts';
import type { Span, Tree } from './formula.ts';
import type { FormulaFunction } from './function.ts';
import type { Column, Memory } from './memory.ts';
import type { Node } from './node.ts';
import type { Named } from './unit-check.ts';

const START: Span = { line: 1, column: 1, from: 0, to: 0 };

/** Conditions of all transitions, each once. */
const conditionsOf = ({ phases }: PhaseMachine): string[] => [
  ...new Set(phases.flatMap(({ transitions }) => transitions.map(({ when }) => when))),
];

/** What the parameter of the phase needs, as the tree of a formula would say it. */
export const phaseTree = (machine: PhaseMachine): Tree => ({
  kind: 'call',
  name: 'phase',
  args: conditionsOf(machine).map((name) => ({ kind: 'name', name, at: START })),
  at: START,
});

/** The machine as a function that remembers, over its conditions; or a finding for the first of them that is not there. */
export function phaseNode(
  machine: PhaseMachine,
  derived: Derived,
  named: ReadonlyMap<string, Named>,
): { node: Node } | { finding: Finding } {
  const place = derived.place ?? { file: 'phases.yaml', line: 0, column: 0 };
  const wrong = (found: string, expected: string) => ({
    finding: { code: 'unknown-name' as const, ...place, found, expected },
  });
  const ids = conditionsOf(machine);
  const lost = ids.find((id) => !named.has(id));
  if (lost !== undefined) return wrong(`phase condition ${lost}`, 'the name of a parameter');
  const target = machine.phases
    .flatMap(({ transitions }) => transitions)
    .find(({ to }) => phaseNumber(machine, to) < 0);
  if (target) return wrong(`phase ${target.to}`, 'a phase of the mission');
  const args = ids.map((name): Node => {
    const { column } = named.get(name) as Named;
    return { kind: 'input', column, name, unit: NUMBER, at: START, sense: '', bare: false };
  });
  const made: FormulaFunction = {
    name: 'phase',
    args: ids.map((name) => ({ name, unit: '1' })),
    repeats: 0,
    result: '1',
    summary: 'number of the phase of flight',
    source: 'the phases of the mission',
    work: { kind: 'memory', create: () => new PhaseRun(machine, ids) },
  };
  return {
    node: { kind: 'call', function: made, args, settings: [], unit: NUMBER, at: START, sense: '', bare: false },
  };
}

interface Transition {
  /** place of its condition among the inputs */
  input: number;
  to: number;
  for: number;
}

/**
 * At each sample the transitions of the present phase are looked at in order: the first whose condition is true and has
 * been so for its time is taken, at most one. The sample on which a phase begins is the first at which its own conditions
 * count towards their times. A condition that is not usable neither starts nor breaks its time; once one has not been
 * usable for longer than `hold`, the phase itself is not, until it is again. Before the first usable sample of all of
 * them nothing is known. A step back in time starts all times again.
 */
export class PhaseRun implements Memory {
  private readonly phases: Transition[][];
  private readonly hold: number;
  private phase = 0;
  /** by transition of the present phase: since when its condition is true, NaN while it is not */
  private since: Float64Array;
  /** since when it cannot be told, NaN while it can; -Infinity once that is too long */
  private untold: Float64Array;
  private last = Number.NEGATIVE_INFINITY;

  constructor(machine: PhaseMachine, inputs: readonly string[]) {
    this.phases = machine.phases.map(({ transitions }) =>
      transitions.map(({ to, when, for: time }) => ({
        input: inputs.indexOf(when),
        to: phaseNumber(machine, to),
        for: time,
      })),
    );
    this.hold = machine.hold;
    const most = Math.max(0, ...this.phases.map((transitions) => transitions.length));
    this.since = new Float64Array(most).fill(Number.NaN);
    this.untold = new Float64Array(most).fill(Number.NEGATIVE_INFINITY);
  }

  run(length: number, time: Float64Array, inputs: readonly Column[], output: Column): void {
    const { values, validity } = output;
    let worst = 0;
    for (let i = 0; i < length; i++) {
      const now = time[i] as number;
      if (now < this.last) this.restart(now);
      this.last = now;
      const code = this.step(i, now, inputs);
      values[i] = code < FIRST_UNUSABLE ? this.phase : Number.NaN;
      validity[i] = code;
      if (code > worst) worst = code;
    }
    output.worst = worst;
  }

  /** Looks at one sample; the code of the phase after it. */
  private step(i: number, now: number, inputs: readonly Column[]): number {
    const { since, untold, hold } = this;
    const transitions = this.phases[this.phase] as Transition[];
    let due = -1;
    let mark = 0;
    let isLost = false;
    for (let k = 0; k < transitions.length; k++) {
      const one = transitions[k] as Transition;
      const input = inputs[one.input] as Column;
      const code = input.validity[i] as number;
      if (code >= FIRST_UNUSABLE) {
        if (Number.isNaN(untold[k])) untold[k] = now;
        else if (now - (untold[k] as number) > hold) untold[k] = Number.NEGATIVE_INFINITY;
        if (untold[k] === Number.NEGATIVE_INFINITY) isLost = true;
        continue;
      }
      if (code > mark) mark = code;
      untold[k] = Number.NaN;
      if (input.values[i] === 0) since[k] = Number.NaN;
      else if (Number.isNaN(since[k])) since[k] = now;
      if (due < 0 && now - (since[k] as number) >= one.for) due = one.to;
    }
    if (due >= 0) {
      this.phase = due;
      return this.enter(i, now, inputs, mark);
    }
    return isLost ? Validity.input : mark;
  }

  /** The conditions of the phase that begins at this sample. */
  private enter(i: number, now: number, inputs: readonly Column[], mark: number): number {
    const transitions = this.phases[this.phase] as Transition[];
    for (let k = 0; k < transitions.length; k++) {
      const input = inputs[(transitions[k] as Transition).input] as Column;
      const isUsable = (input.validity[i] as number) < FIRST_UNUSABLE;
      this.untold[k] = isUsable ? Number.NaN : now;
      this.since[k] = isUsable && input.values[i] !== 0 ? now : Number.NaN;
    }
    return mark;
  }

  private restart(now: number): void {
    this.since.fill(Number.NaN);
    const { untold } = this;
    for (let k = 0; k < untold.length; k++) if (Number.isFinite(untold[k])) untold[k] = now;
  }

  save(): unknown {
    return { phase: this.phase, since: this.since, untold: this.untold, last: this.last };
  }

  restore(state: unknown): void {
    const { phase, since, untold, last } = state as {
      phase: number;
      since: Float64Array;
      untold: Float64Array;
      last: number;
    };
    this.phase = phase;
    this.since.set(since);
    this.untold.set(untold);
    this.last = last;
  }
}
