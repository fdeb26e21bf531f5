/**
 * A slow, obvious evaluator against the compiled formulas: random formulas over random streams with gaps, marks and
 * unusable samples, cut into batches anywhere, saved and restored anywhere. Every value and validity must be the same
 * bit for bit. The evaluator keeps all samples it ever saw and computes each answer from scratch.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Batch } from '../../protocol/batch.ts';
import { findingText } from '../../protocol/finding.ts';
import { columnGroups, type Mission } from '../../protocol/mission.ts';
import { compileDerive, type Derive } from '../../station/derive/derive.ts';
import { type Dimension, type Expression, into, type Sample, type World } from './slow-answer.ts';
import { expression, groups, parameter, received } from './slow-formula.ts';
import { tables } from './slow-library.ts';

const FRAME = 20_000;
function missionOf(derived: { unit: string; drivenBy: string; formula: string }[]): Mission {
  return {
    baselineId: 'reference',
    name: 'reference',
    stream: 'REF',
    aircraft: { name: '', softwareId: '', configurationId: '' },
    receivers: [],
    people: [],
    words: { class1: [], class2: [] } as unknown as Mission['words'],
    groups,
    parameters: received.map((one) => ({
      ...one,
      name: one.id,
      format: 'f64',
      calibration: { kind: 'polynomial', coefficients: [0, 1] },
    })),
    derived: derived.map((one, i) => ({ id: `D${i}`, name: `D${i}`, ...one })),
    tables,
    limits: [],
    pages: [],
  };
}

// ---------------------------------------------------------------- random streams

const values = fc.oneof(
  { weight: 6, arbitrary: fc.constantFrom(-7.25, -2, -1, 0, 0.1, 1, 2, 3, 6, 10.5) },
  { weight: 1, arbitrary: fc.constantFrom(1e308, -1e308, 5e-324) },
);
/** mostly good; the dirtier ones make sure that single bad samples and all-bad batches both happen */
const codes = fc.oneof(
  { weight: 12, arbitrary: fc.constant(0) },
  { weight: 2, arbitrary: fc.constantFrom(1, 2) },
  { weight: 2, arbitrary: fc.constantFrom(8, 11, 12, 13, 16) },
);

interface Stream {
  /** by received parameter */
  columns: Map<string, Sample[]>;
  frames: number;
}

const stream: fc.Arbitrary<Stream> = fc
  .record({
    frames: fc.integer({ min: 3, max: 25 }),
    /** first frame, frames and group of each stretch that brings nothing */
    lost: fc.array(
      fc.tuple(fc.nat(24), fc.integer({ min: 1, max: 18 }), fc.constantFrom('', ...groups.map(({ id }) => id))),
      {
        maxLength: 4,
      },
    ),
    /** when false, all samples are good: only then does the fast path run over whole batches */
    dirty: fc.boolean(),
    values: fc.array(values, { minLength: 20, maxLength: 60 }),
    codes: fc.array(codes, { minLength: 20, maxLength: 60 }),
  })
  .map((random) => {
    const columns = new Map<string, Sample[]>();
    for (const [p, { id, group }] of received.entries()) {
      const { rate } = groups.find((one) => one.id === group) as (typeof groups)[number];
      const samples: Sample[] = [];
      for (let k = 0, time = 0; time < random.frames * FRAME; k++, time = Math.round((k * 1e6) / rate)) {
        const frame = Math.floor(time / FRAME);
        const isLost = random.lost.some(
          ([from, count, of]) => frame >= from && frame < from + count && (of === '' || of === group),
        );
        if (isLost) continue;
        const pick = k * 7 + p * 3;
        const code = random.dirty ? (random.codes[pick % random.codes.length] as number) : 0;
        samples.push({ time, value: random.values[pick % random.values.length] as number, code });
      }
      columns.set(id, samples);
    }
    return { columns, frames: random.frames };
  });

// ---------------------------------------------------------------- running both

/** Arrays that batch after batch is put into, as convert reuses its own: what was in them before must not matter. */
class Arrays {
  private readonly known = new Map<string, { values: Float64Array; validity: Uint8Array }>();

  of(group: number, place: number): { values: Float64Array; validity: Uint8Array } {
    const key = `${group} ${place}`;
    let arrays = this.known.get(key);
    if (!arrays) {
      arrays = { values: new Float64Array(LONGEST).fill(7), validity: new Uint8Array(LONGEST).fill(99) };
      this.known.set(key, arrays);
    }
    return arrays;
  }
}
/** Samples of a rate group in all frames of a stream. */
const LONGEST = 300;

function batchesOf(
  mission: Mission,
  { columns }: Stream,
  fromFrame: number,
  toFrame: number,
  arrays: Arrays,
): (Batch | undefined)[] {
  const columnGroup = columnGroups(mission);
  return groups.map((group, g): Batch | undefined => {
    const inGroup = received.filter((one) => one.group === group.id);
    const cut = inGroup.map(({ id }) =>
      (columns.get(id) as Sample[]).filter(({ time }) => time >= fromFrame * FRAME && time < toFrame * FRAME),
    );
    const first = cut[0] as Sample[];
    const length = first.length;
    if (length === 0) return undefined;
    const numbers = columnGroup.flatMap((of, column) => (of === g ? [column] : []));
    const received_ = inGroup.length;
    const batch: Batch = {
      group: g,
      length,
      time: Float64Array.from(first, ({ time }) => time),
      columns: numbers,
      received: received_,
      values: numbers.map((_, i) => {
        const { values } = arrays.of(g, i);
        cut[i]?.forEach(({ value, code }, k) => {
          values[k] = code < 8 ? value : Number.NaN;
        });
        return values;
      }),
      validity: numbers.map((_, i) => {
        const { validity } = arrays.of(g, i);
        cut[i]?.forEach(({ code }, k) => {
          validity[k] = code;
        });
        return validity;
      }),
      low: new Float64Array(numbers.length),
      high: new Float64Array(numbers.length),
      worst: Uint8Array.from(numbers, (_, i) => Math.max(0, ...(cut[i] ?? []).map(({ code }) => code))),
    };
    return batch;
  });
}

/** What the stage answers for each derived parameter, with batches cut and states restored where `cuts` says. */
function runStage(
  mission: Mission,
  input: Stream,
  cuts: { frames: number; restore: boolean }[],
): Map<string, Sample[]> {
  const fresh = (): Derive => {
    const compiled = compileDerive(mission);
    if (!compiled.value) throw new Error(compiled.findings.map(findingText).join('\n'));
    return compiled.value;
  };
  const result = new Map(mission.derived.map(({ id }) => [id, [] as Sample[]]));
  const arrays = new Arrays();
  let stage = fresh();
  for (let frame = 0, i = 0; frame < input.frames; i++) {
    const { frames, restore } = cuts[i % cuts.length] as (typeof cuts)[number];
    const batches = batchesOf(mission, input, frame, Math.min(frame + frames, input.frames), arrays);
    frame += frames;
    stage.run(batches);
    for (const [d, { id }] of mission.derived.entries())
      collect(result.get(id) as Sample[], batches, received.length + d);
    if (!restore) continue;
    const state = structuredClone(stage.save());
    stage = fresh();
    stage.restore(state);
  }
  return result;
}

function collect(into: Sample[], batches: (Batch | undefined)[], column: number): void {
  for (const batch of batches) {
    const position = batch?.columns.indexOf(column) ?? -1;
    if (!batch || position < 0) continue;
    const [value, validity] = [batch.values[position] as Float64Array, batch.validity[position] as Uint8Array];
    const good: number[] = [];
    for (let i = 0; i < batch.length; i++) {
      into.push({ time: batch.time[i] as number, value: value[i] as number, code: validity[i] as number });
      if ((validity[i] as number) < 8) good.push(value[i] as number);
    }
    expect((batch.low[position] as number) + 0).toBe(Math.min(...good) + 0);
    expect((batch.high[position] as number) + 0).toBe(Math.max(...good) + 0);
    expect(batch.worst[position]).toBe(Math.max(...validity.subarray(0, batch.length)));
  }
}

/** The same from scratch, sample by sample. */
function runReference(
  derived: { expression: Expression; unit: string; drivenBy: string }[],
  input: Stream,
): Map<string, Sample[]> {
  const samples: World['samples'] = new Map();
  const ageOf = (group: string) => (groups.find(({ id }) => id === group) as (typeof groups)[number]).staleAfter;
  for (const { id, group } of received)
    samples.set(id, { group, staleAfter: ageOf(group), samples: input.columns.get(id) as Sample[] });
  const result = new Map<string, Sample[]>();
  for (const [d, { expression: formula, unit, drivenBy }] of derived.entries()) {
    const driver = received.find(({ group }) => group === drivenBy) as (typeof received)[number];
    const times = (input.columns.get(driver.id) as Sample[]).map(({ time }) => time);
    const world: World = { times, group: drivenBy, staleAfter: ageOf(drivenBy), samples };
    const answers = times.map((time, n): Sample => {
      const { value, code } = into(formula.at(n, world), formula.unit, unit);
      return { time, value, code };
    });
    result.set(`D${d}`, answers);
    samples.set(`D${d}`, { group: drivenBy, staleAfter: ageOf(drivenBy), samples: answers });
  }
  return result;
}

/** Equal to the last bit, except that 0 and -0 count as one. */
function expectSame(fast: Map<string, Sample[]>, slow: Map<string, Sample[]>, what: string): void {
  for (const [id, expected] of slow) {
    const found = fast.get(id) as Sample[];
    expect(found.length, what).toBe(expected.length);
    for (const [i, sample] of expected.entries()) {
      const { time, value, code } = found[i] as Sample;
      const same = time === sample.time && code === sample.code && (value === sample.value || code >= 8);
      if (!same || (code >= 8 && !Number.isNaN(value)))
        throw new Error(
          `${id} sample ${i} at ${sample.time}: ${value}/${code}, expected ${sample.value}/${sample.code}\n${what}`,
        );
    }
  }
}

const cuts = fc.array(fc.record({ frames: fc.integer({ min: 1, max: 8 }), restore: fc.boolean() }), {
  minLength: 1,
  maxLength: 6,
});
const drivers = fc.constantFrom('fast', 'main', 'slow');

/** Two derived parameters, the second of which may use the first. */
const formulas = fc.tuple(drivers, drivers, expression('number', 3, [])).chain(([first, second, a]) =>
  fc.constantFrom<Dimension>('number', 'speed').chain((dimension) =>
    expression(dimension, 3, [parameter('D0', '1')]).map((b) => [
      { expression: a, unit: '1', drivenBy: first },
      { expression: b, unit: b.unit === '1' ? '1' : 'km/h', drivenBy: second },
    ]),
  ),
);

describe('derive against the slow evaluator', () => {
  it('gives the same values and validity for any formula, stream, cut, save and restore', () => {
    let compared = 0;
    fc.assert(
      fc.property(formulas, stream, cuts, (derived, input, where) => {
        const mission = missionOf(
          derived.map(({ expression: { text }, unit, drivenBy }) => ({ formula: text, unit, drivenBy })),
        );
        const text = derived.map((one) => one.expression.text).join('\n');
        const compiled = compileDerive(mission);
        if (!compiled.value) {
          // constants may come out as a division by zero, the root of a negative number: rightly refused
          expect(
            compiled.findings.map(({ code }) => code).filter((code) => code !== 'formula-undefined'),
            `${text}\n${compiled.findings.map(findingText)}`,
          ).toEqual([]);
          return;
        }
        compared++;
        expectSame(runStage(mission, input, where), runReference(derived, input), text);
      }),
      { seed: 20261125, numRuns: 1200 },
    );
    expect(compared).toBeGreaterThan(800);
  });
});
