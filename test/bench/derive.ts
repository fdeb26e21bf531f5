/**
 * Part `derive`: formulas over columns, against the same arithmetic written by hand, and against an expression library's
 * compiled evaluate, which is what a script would use.
 */
import { compile } from 'mathjs';
import type { Batch } from '../../protocol/batch.ts';
import type { Mission } from '../../protocol/mission.ts';
import { compileDerive } from '../../station/derive/derive.ts';
import { derived, group, mission, parameter } from '../support/tiny-mission.ts';
import { compare, type Part, seconds } from './measure.ts';

/** Formulas, received parameters, samples of a batch. */
const FORMULAS = 300;
const INPUTS = 300;
const SAMPLES = 1000;

const inputs = Array.from({ length: INPUTS }, (_, i) => `P${i}`);
const of = (i: number, k: number): number => (i * 7 + k * 13) % INPUTS;
const text = (i: number): string => `(P${of(i, 0)} - P${of(i, 1)}) * 0.5 + P${of(i, 2)} * P${of(i, 3)} / 100`;

const load: Mission = mission({
  groups: [group('all', 1000)],
  parameters: inputs.map((id) => parameter(id, 'all')),
  derived: Array.from({ length: FORMULAS }, (_, i) => derived(`D${i}`, 'P0', text(i))),
});

/** One batch with every received column filled and good. */
function filled(): Batch {
  const columns = INPUTS + FORMULAS;
  const of = (k: number) => Float64Array.from({ length: SAMPLES }, (_, i) => Math.sin(i * 0.01 + k) * 50 + k * 0.1);
  return {
    group: 0,
    length: SAMPLES,
    time: Float64Array.from({ length: SAMPLES }, (_, i) => 1e15 + i * 1000),
    columns: Array.from({ length: columns }, (_, k) => k),
    received: INPUTS,
    values: Array.from({ length: columns }, (_, k) => (k < INPUTS ? of(k) : new Float64Array(SAMPLES))),
    validity: Array.from({ length: columns }, () => new Uint8Array(SAMPLES)),
    low: new Float64Array(columns).fill(-1000),
    high: new Float64Array(columns).fill(1000),
    worst: new Uint8Array(columns),
  };
}

/** The same arithmetic by hand: one loop a formula over the same columns. */
function byHand(batch: Batch): void {
  for (let f = 0; f < FORMULAS; f++) {
    const a = batch.values[of(f, 0)] as Float64Array;
    const b = batch.values[of(f, 1)] as Float64Array;
    const c = batch.values[of(f, 2)] as Float64Array;
    const d = batch.values[of(f, 3)] as Float64Array;
    const out = batch.values[INPUTS + f] as Float64Array;
    for (let i = 0; i < SAMPLES; i++) {
      out[i] = ((a[i] as number) - (b[i] as number)) * 0.5 + ((c[i] as number) * (d[i] as number)) / 100;
    }
  }
}

const RUNS = 20;
/** The library is slow: a part of the samples is enough. */
const LIBRARY_SAMPLES = 200;

export async function derivePart(rounds: number): Promise<Part> {
  const compiled = compileDerive(load);
  if (!compiled.value) throw new Error(compiled.findings.map((f) => f.found).join('; '));
  const derive = compiled.value;
  const batch = filled();
  const rate = (spent: number) => (RUNS * FORMULAS * SAMPLES) / spent;
  // Aircraft time goes on from run to run, as it does in flight.
  const next = () => {
    for (let i = 0; i < SAMPLES; i++) batch.time[i] = (batch.time[i] as number) + 1e6;
  };
  const product = () => {
    const spent = seconds(() => {
      for (let r = 0; r < RUNS; r++) {
        next();
        derive.run([batch]);
      }
    });
    return rate(spent);
  };
  const hand = () => {
    const spent = seconds(() => {
      for (let r = 0; r < RUNS; r++) {
        next();
        byHand(batch);
      }
    });
    return rate(spent);
  };
  agree(derive, batch);
  const evaluated = Array.from({ length: FORMULAS }, (_, f) => compile(text(f)));
  const scope: Record<string, number> = {};
  /** One scope, written anew for each sample: the best a script can do with it. */
  const library = () => {
    let sum = 0;
    const spent = seconds(() => {
      for (let i = 0; i < LIBRARY_SAMPLES; i++) {
        inputs.forEach((id, k) => {
          scope[id] = (batch.values[k] as Float64Array)[i] as number;
        });
        for (const formula of evaluated) sum += formula.evaluate(scope) as number;
      }
    });
    if (!Number.isFinite(sum)) throw new Error('the library gave no number');
    return (FORMULAS * LIBRARY_SAMPLES) / spent;
  };
  return {
    part: 'derive',
    rows: [
      await compare('formulas against loops by hand', 'evaluations/s', rounds, product, hand, 0.6),
      await compare('formulas against an expression library', 'evaluations/s', rounds, product, library, 50),
    ],
  };
}

/** Fast means nothing unless the numbers are the same. */
function agree(derive: { run(batches: readonly (Batch | undefined)[]): void }, batch: Batch): void {
  derive.run([batch]);
  const got = batch.values.slice(INPUTS).map((column) => column.slice());
  byHand(batch);
  got.forEach((column, f) => {
    const wanted = batch.values[INPUTS + f] as Float64Array;
    if (column.some((value, i) => value !== wanted[i]))
      throw new Error(`formula ${f} differs from the hand-written loop`);
  });
}
