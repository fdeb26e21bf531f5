/**
 * The slow twin of what station/conduct does with a sequence: from all samples at once, instant by instant, with nothing
 * carried along but what the instant before said. Written to be read, not to be quick.
 */
import type { SequenceRunView, SequenceView } from '../../protocol/conduct.ts';
import type { Sequence, SequenceMeasure } from '../../protocol/procedure.ts';
import { SECOND } from '../../protocol/time.ts';

export interface SlowSample {
  time: number;
  value: number;
  usable: boolean;
}

export interface SlowInput {
  samples: readonly SlowSample[];
  /** microseconds that a sample may be old */
  oldest: number;
  /** microseconds between samples */
  period: number;
}

type Truth = 'yes' | 'no' | 'unsure';

/** What a condition says at this time. */
function told({ samples, oldest }: SlowInput, now: number): Truth {
  const newest = samples.filter(({ time }) => time <= now).at(-1);
  if (newest === undefined || now - newest.time > oldest || !newest.usable) return 'unsure';
  return newest.value === 0 ? 'no' : 'yes';
}

interface Spell {
  began: number;
  gate: Truth;
  /** time of each step that was done, and of the step before it */
  done: { at: number; took: number }[];
  from: number;
  ended?: { at: number; how: 'done' | 'broken off' };
  /** when the next one began */
  next?: number;
}

/** What is shown after all these samples; staleness by ground time is not looked at. */
export function slowSequence(of: Sequence, inputs: Readonly<Record<string, SlowInput>>): SequenceView {
  const input = (id: string) => inputs[id] as SlowInput;
  const used = [
    of.begins,
    of.ends,
    of.gate?.when,
    ...of.steps.map(({ when }) => when),
    ...of.measures.map((m) => m.parameter),
  ];
  const ids = [...new Set(used.filter((id) => id !== undefined))];
  const times = ids.flatMap((id) => input(id).samples.map(({ time }) => time));
  const instants = [...new Set(times)].sort((a, b) => a - b);
  const spells: Spell[] = [];
  let begun: Truth = 'unsure';
  for (const now of instants) {
    const begins = told(input(of.begins), now);
    if (begins === 'yes' && begun !== 'yes') {
      const before = spells.at(-1);
      if (before) before.next = now;
      spells.push({ began: now, gate: of.gate ? told(input(of.gate.when), now) : 'unsure', done: [], from: now });
    }
    if (begins !== 'unsure') begun = begins;
    const spell = spells.at(-1);
    if (spell === undefined || spell.ended) continue;
    if (of.ends !== undefined && told(input(of.ends), now) === 'yes') {
      spell.ended = { at: now, how: 'broken off' };
      continue;
    }
    for (const { when } of of.steps.slice(spell.done.length)) {
      if (told(input(when), now) !== 'yes') break;
      spell.done.push({ at: now, took: now - spell.from });
      spell.from = now;
    }
    if (spell.done.length === of.steps.length) spell.ended = { at: now, how: 'done' };
  }
  return shown(of, input, instants.at(-1) ?? Number.NaN, spells);
}

function shown(of: Sequence, input: (id: string) => SlowInput, last: number, spells: Spell[]): SequenceView {
  const spell = spells.at(-1);
  const newest = (id: string): Truth => {
    const sample = input(id).samples.at(-1);
    return sample === undefined || !sample.usable ? 'unsure' : sample.value === 0 ? 'no' : 'yes';
  };
  const until = spell?.ended?.at ?? last;
  const isOpen = spell !== undefined && spell.ended === undefined;
  const steps = of.steps.map(({ name, within, when }, i): SequenceView['steps'][number] => {
    const done = spell?.done[i];
    const about = { name, at: done?.at ?? 0, took: done?.took ?? 0, within };
    if (done) return { ...about, state: done.took > within ? 'late' : 'done' };
    if (spell === undefined || i !== spell.done.length) return { ...about, state: 'waiting' };
    if (isOpen && newest(when) === 'unsure') return { ...about, state: 'cannot tell' };
    if (until - spell.from > within) return { ...about, state: 'missing' };
    return { ...about, state: isOpen ? 'due' : 'waiting' };
  });
  const due = isOpen ? steps[spell.done.length]?.state : undefined;
  const running = due === 'missing' ? 'late' : due === 'cannot tell' ? 'cannot tell' : 'running';
  const waiting = newest(of.begins) === 'unsure' ? 'cannot tell' : 'waiting';
  const gate = isOpen ? spell.gate : of.gate ? newest(of.gate.when) : 'unsure';
  return {
    id: of.id,
    state: spell === undefined ? waiting : (spell.ended?.how ?? running),
    times: spells.length,
    began: spell?.began ?? 0,
    ended: spell?.ended?.at ?? 0,
    steps,
    measures: of.measures.map((measure) => measured(measure, input(measure.parameter), spell, until)),
    gate: of.gate === undefined ? '' : words[gate],
    earlier: spells
      .slice(0, -1)
      .slice(-MOST)
      .map((before) => closed(of, input, before)),
    dropped: Math.max(0, spells.length - 1 - MOST),
  };
}

/** Runs before the last that are kept. */
const MOST = 40;
const words = { yes: 'inside', no: 'outside', unsure: 'cannot tell' } as const;

/** A run that another one followed: nothing of what came after it counts, but what was newest when that one began. */
function closed(of: Sequence, input: (id: string) => SlowInput, spell: Spell): SequenceRunView {
  const next = spell.next as number;
  const ended = spell.ended?.at ?? next;
  const steps = of.steps.map(({ name, within }, i): SequenceView['steps'][number] => {
    const done = spell.done[i];
    if (done) return { name, within, ...done, state: done.took > within ? 'late' : 'done' };
    const isMissing = i === spell.done.length && ended - spell.from > within;
    return { name, within, at: 0, took: 0, state: isMissing ? 'missing' : 'waiting' };
  });
  const measures = of.measures.map((measure) => {
    const { samples, ...pace } = input(measure.parameter);
    const newest = samples.filter(({ time }) => time <= next).at(-1);
    if (measure.kind === 'now') {
      const isBelieved = newest?.usable === true && next - newest.time <= pace.oldest;
      const { missing } = account(measure, { samples, ...pace }, spell.began, ended);
      return { title: measure.title, value: isBelieved ? newest.value : null, unit: '1', missing };
    }
    // a run that gives way to the next leaves it the samples of that instant
    const own = spell.ended ? samples : samples.filter(({ time }) => time < next);
    return measured(measure, { samples: own, ...pace }, spell, ended);
  });
  const gate = of.gate === undefined ? '' : words[spell.gate];
  return { began: spell.began, ended, state: spell.ended?.how ?? 'begun anew', steps, measures, gate };
}

function measured(measure: SequenceMeasure, input: SlowInput, spell: Spell | undefined, until: number) {
  const { title, kind } = measure;
  const newest = input.samples.at(-1);
  const now = kind === 'now' ? (newest?.usable ? newest.value : null) : null;
  const unit = kind === 'time above' ? 's' : kind === 'rate' ? '1/s' : '1';
  if (spell === undefined) return { title, value: now, unit, missing: 0 };
  const { above, missing } = account(measure, input, spell.began, until);
  const during = input.samples.filter(({ time, usable }) => usable && time >= spell.began && time <= until);
  const values = kind === 'rate' ? slopes(during, measure.window ?? SECOND) : during.map(({ value }) => value);
  const extreme = values.length === 0 ? null : kind === 'min' ? Math.min(...values) : Math.max(...values);
  return { title, value: kind === 'now' ? now : kind === 'time above' ? above / SECOND : extreme, unit, missing };
}

/** Microsecond for microsecond it is either known whether it is above, or missing. */
function account({ value = 0, upTo = Infinity }: SequenceMeasure, input: SlowInput, began: number, until: number) {
  let above = 0;
  let missing = 0;
  const edges = [{ time: Number.NEGATIVE_INFINITY, value: 0, usable: false }, ...input.samples];
  edges.forEach((sample, k) => {
    const next = edges[k + 1]?.time ?? Infinity;
    // a sample counts only up to the end of what is looked at
    const to = Math.min(next, until);
    const speaks = !sample.usable ? sample.time : to - sample.time <= input.oldest ? to : sample.time + input.period;
    const known = Math.max(0, Math.min(to, speaks) - Math.max(sample.time, began));
    const all = Math.max(0, to - Math.max(sample.time, began));
    missing += all - known;
    above += all - known + (sample.value > value && sample.value <= upTo ? known : 0);
  });
  return { above, missing };
}

/** The slope of a least-squares line through the samples of the window before each sample. */
function slopes(samples: readonly SlowSample[], window: number): number[] {
  return samples.flatMap(({ time }, i) => {
    const inside = samples.slice(0, i + 1).filter((one) => one.time >= time - window);
    if (inside.length < 3 || time - (inside[0] as SlowSample).time < window / 2) return [];
    const t = inside.map((one) => (one.time - time) / SECOND);
    const meanT = t.reduce((a, b) => a + b, 0) / t.length;
    const mean = inside.reduce((a, b) => a + b.value, 0) / t.length;
    const up = inside.reduce((a, b, k) => a + ((t[k] as number) - meanT) * (b.value - mean), 0);
    return [up / t.reduce((a, b) => a + (b - meanT) ** 2, 0)];
  });
}
