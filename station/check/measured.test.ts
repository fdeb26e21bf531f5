import { beforeEach, describe, expect, it } from 'vitest';
import type { Batch } from '../../protocol/batch.ts';
import type { Limit } from '../../protocol/limit.ts';
import { columnPlaces } from '../../protocol/mission.ts';
import { aircraftTime } from '../../protocol/time.ts';
import { Validity } from '../../protocol/validity.ts';
import { limitOf } from '../../test/support/limit-flight.ts';
import { batchOf } from '../../test/support/tiny-batch.ts';
import { group, mission, parameter } from '../../test/support/tiny-mission.ts';
import { view } from '../../test/support/watched-levels.ts';
import { CLOSED, OPEN } from './gate.ts';
import type { MeasureInput } from './held.ts';
import { Changes, type CheckContext, type GateSource } from './kind.ts';
import {
  compileMeasured,
  type Measure,
  type MeasureContext,
  type MeasureOutput,
  type MeasureSpan,
  type Measuring,
} from './measured.ts';

const { good, frozen, link } = Validity;
const NA = Number.NaN;

const of = mission({
  groups: [group('main', 100, 50), group('slow', 20, 200)],
  parameters: [parameter('A', 'main'), parameter('ON', 'main'), parameter('S', 'slow'), parameter('T', 'slow')],
});
const places = columnPlaces(of);
const findings: string[] = [];
const context: CheckContext = {
  mission: of,
  staleAfter: of.groups.map(({ staleAfter }) => staleAfter),
  column: (id) => places.get(id),
  finding: (limit, code, found, expected, more) =>
    findings.push(`${limit.id} ${code} at ${more?.at}: ${found}, expected ${expected}`),
};

beforeEach(() => {
  findings.length = 0;
});

/** Copies its first input, with what it is told of each sample written down. */
class Copies implements Measure {
  readonly spans: { time: number[]; gate: number[] | undefined; inputs: number[][] }[] = [];
  readonly outs: MeasureOutput[] = [];
  state: unknown = 0;
  write: (i: number, out: MeasureOutput) => void = () => undefined;

  run({ time, length, gate }: MeasureSpan, inputs: readonly MeasureInput[], out: MeasureOutput): void {
    const cut = (from: ArrayLike<number>) => Array.from(from).slice(0, length);
    this.spans.push({ time: cut(time), gate: gate && cut(gate), inputs: inputs.map(({ values }) => cut(values)) });
    this.outs.push({ ...out });
    for (let i = 0; i < length; i++) {
      out.values[i] = inputs[0]?.values[i] as number;
      if ((inputs[0]?.validity[i] as number) >= link) out.validity[i] = inputs[0]?.validity[i] as number;
      this.write(i, out);
    }
  }

  save(): unknown {
    return { state: this.state };
  }

  restore(state: unknown): void {
    this.state = (state as { state: unknown } | undefined)?.state;
  }
}

interface Row {
  limit: Limit;
  watched?: string;
  gates?: GateSource[];
  measuring?: Partial<Measuring> | undefined;
}

/** One limit a row, `index` being its place in the list; `run` makes its changes text. */
function measured(...rows: Row[]) {
  const measures = rows.map(() => new Copies());
  const contexts: MeasureContext[] = [];
  const run = compileMeasured(
    rows.map(({ limit, watched = limit.parameter, gates = [], ...more }, index) => ({
      numbered: { index, limit, watched: places.get(watched) ?? { group: 0, place: 0 }, gates },
      compile: (_, one) => {
        contexts.push(one);
        if ('measuring' in more && more.measuring === undefined) return undefined;
        return { measure: measures[index] as Copies, inputs: [limit.parameter], ...more.measuring };
      },
    })),
    context,
  );
  const lines = ({ list }: Changes) =>
    list.map(({ limit, aircraft, condition, level, value, limitValue, detail }) => {
      const numbers = condition === 'outside' ? ` ${level}: ${value} of ${limitValue}` : '';
      return `${limit} ${aircraft} ${condition}${numbers}${detail && ` (${detail})`}`;
    });
  return {
    run,
    measures,
    measure: measures[0] as Copies,
    contexts,
    told: (...batches: (Batch | undefined)[]) => {
      const changes = new Changes();
      run.run(batches, changes);
      return lines(changes);
    },
    stale: (of_: number) => {
      const changes = new Changes();
      run.stale(of_, aircraftTime(99), changes);
      return lines(changes);
    },
    read: () => view(run, rows.length).map((one) => [one.condition, one.level, one.value, one.next]),
  };
}

const rate = (id: string, parameterId: string, more: Partial<Limit> = {}): Limit =>
  limitOf(id, 'rate', parameterId, { above: { caution: 10 }, ...more });

type Sample = readonly [time: number, a: number, on?: number];
const coded = (value: number) => (value === value ? good : link);
const main = (...samples: Sample[]): Batch =>
  batchOf(
    0,
    [0, 1],
    samples.map(([time, a, on = 1]) => ({ time, values: [a, on], validity: [coded(a), coded(on)] })),
  );
const slow = (...samples: Sample[]): Batch =>
  batchOf(
    1,
    [2, 3],
    samples.map(([time, s, t = 0]) => ({ time, values: [s, t], validity: [coded(s), coded(t)] })),
  );

describe('limits of kinds that measure something', () => {
  it('are levels over what is measured, at each sample of the parameter watched', () => {
    const { told, measure, contexts, read } = measured({ limit: rate('x', 'A') });
    expect(findings).toEqual([]);
    expect(contexts[0]?.group).toBe(of.groups[0]);
    expect(contexts[0]?.mission).toBe(of);
    expect(told(main([1, 5], [2, 11], [3, NA], [4, 10]))).toEqual([
      '0 1 inside',
      '0 2 outside 2: 11 of 10',
      '0 3 cannot tell',
      '0 4 inside',
    ]);
    expect(measure.spans).toEqual([{ time: [1, 2, 3, 4], gate: undefined, inputs: [[5, 11, NA, 10]] }]);
    expect(read()).toEqual([['inside', 0, 10, 10]]);
  });

  it('wait where no sample came', () => {
    const { told, measure } = measured({ limit: rate('x', 'A') });
    told(main([1, 11]));
    expect([...told(undefined, slow([2, 1])), ...told(main(), undefined)]).toEqual([]);
    expect(measure.spans).toHaveLength(1);
    expect(told(undefined, undefined)).toEqual([]);
  });

  it('have a column each, in the group of what they watch', () => {
    const { told, measures } = measured(
      { limit: rate('a', 'A') },
      { limit: rate('s', 'S') },
      { limit: rate('on', 'ON') },
      { limit: rate('t', 'T') },
    );
    expect(told(main([1, 11, 5]), slow([1, 5, 11]))).toEqual([
      '0 1 outside 2: 11 of 10',
      '2 1 inside',
      '1 1 inside',
      '3 1 outside 2: 11 of 10',
    ]);
    expect(told(undefined, slow([2, 11, 5]))).toEqual(['1 2 outside 2: 11 of 10', '3 2 inside']);
    expect(told(main([3, 5, 11]))).toEqual(['0 3 inside', '2 3 outside 2: 11 of 10']);
    expect(measures.map(({ spans }) => spans.length)).toEqual([2, 2, 2, 2]);
  });

  it('read other rate groups too, whose newest sample is held as long as that group may be old', () => {
    const { told, measure } = measured({ limit: rate('x', 'A'), measuring: { inputs: ['S', 'A'] } });
    expect(told(undefined, slow([10, 20]))).toEqual([]);
    expect(told(main([20, 1], [210, 2], [211, 3]), undefined)).toEqual([
      '0 20 outside 2: 20 of 10',
      '0 211 cannot tell',
    ]);
    expect(measure.spans[0]?.inputs).toEqual([
      [20, 20, NA],
      [1, 2, 3],
    ]);
    expect(told(main([212, 1]), slow([205, 3]))).toEqual(['0 212 inside']);
  });

  it('know at each sample whether they are in force, and are so', () => {
    const { told, measure } = measured({
      limit: rate('x', 'A'),
      gates: [{ source: { group: 0, place: 1 }, oldest: 50 }],
    });
    expect(told(main([1, 11, 0], [2, 11, 1], [3, 11, 0]))).toEqual([
      '0 1 inside',
      '0 2 outside 2: 11 of 10',
      '0 3 inside',
    ]);
    told(main([4, 11, 0]));
    expect(measure.spans.map(({ gate }) => gate)).toEqual([[CLOSED, OPEN, CLOSED], [CLOSED]]);
  });

  it('cannot tell of a number that is none, whatever its code, nor of what is not usable', () => {
    const { told, measure } = measured({ limit: rate('x', 'A') });
    measure.write = (i, out) => {
      if (i === 1) out.values[i] = NA;
      if (i === 3) out.validity[i] = frozen;
    };
    expect(told(main([1, 5], [2, 5], [3, 5], [4, 5], [5, 5]))).toEqual([
      '0 1 inside',
      '0 2 cannot tell',
      '0 3 inside',
      '0 4 cannot tell',
      '0 5 inside',
    ]);
    // nothing of this is left for the next run
    measure.write = () => undefined;
    expect(told(main([6, 5], [7, 5], [8, 5], [9, 5]))).toEqual([]);
    for (const values of [
      [5, 5, 11, 5],
      [5, 5, 5, NA],
      [5, NA, 5, 5],
      [11, 5, 5, 5],
    ]) {
      told(main([10, 5]));
      expect(told(main(...values.map((a, i): Sample => [11 + i, a])))).not.toEqual([]);
    }
    told(main([20, 5]));
    measure.write = (i, out) => {
      if (i === 1) out.values[i] = NA;
    };
    expect(told(main([21, 5], [22, 5], [23, 5]))).toEqual(['0 22 cannot tell', '0 23 inside']);
  });

  it('see a value below as well as one above', () => {
    const { told } = measured({ limit: rate('x', 'A', { above: { caution: 10 }, below: { caution: -10 } }) });
    told(main([1, 0]));
    expect(told(main([2, 0], [3, -11], [4, 0]))).toEqual(['0 3 outside 2: -11 of -10', '0 4 inside']);
    expect(told(main([5, -9], [6, 9]))).toEqual([]);
  });

  it('are told in the words of the measure, with what the value is a distance from', () => {
    const { told, measure, stale } = measured({
      limit: rate('x', 'A'),
      measuring: { names: ['first', 'second'], refers: true, stale: 20 },
    });
    measure.write = (i, out) => {
      if (i !== 1) return;
      out.reference[i] = 100;
      out.which[i] = 1;
    };
    expect(told(main([1, 5], [2, 11], [3, 5]))).toEqual([
      '0 1 inside',
      '0 2 outside 2: 111 of 110 (second)',
      '0 3 inside',
    ]);
    measure.write = (i, out) => {
      out.reference[i] = 200;
      out.which[i] = 1;
    };
    expect(told(main([3, 12], [3, 5]))).toEqual(['0 3 outside 2: 212 of 210 (second)', '0 3 inside']);
    // what was written in the run before is gone
    measure.write = () => undefined;
    expect(told(main([4, 5], [5, 11], [6, 5]))).toEqual(['0 5 outside 2: 11 of 10 (first)', '0 6 inside']);
    measure.write = (i, out) => {
      out.reference[i] = 100;
    };
    told(main([7, 5]));
    expect(stale(1)).toEqual([]);
    expect(stale(0)).toEqual(['0 99 outside 2: 20 of 10 (first)']);
  });

  it('are told without words where the measure has none', () => {
    const { told, stale } = measured({ limit: rate('x', 'A'), measuring: { stale: 20 } });
    expect(told(main([1, 11], [2, 5]))).toEqual(['0 1 outside 2: 11 of 10', '0 2 inside']);
    expect(stale(0)).toEqual(['0 99 outside 2: 20 of 10']);
  });

  it('that go stale cannot be told where the measure says nothing of that', () => {
    const { told, stale } = measured({ limit: rate('x', 'A') });
    told(main([1, 11]));
    expect(stale(0)).toEqual(['0 99 cannot tell']);
  });

  it('are given memory once, and more when a run is longer than any before', () => {
    const { told, measure } = measured({ limit: rate('x', 'A') });
    const run = (count: number) => told(main(...Array.from({ length: count }, (_, i): Sample => [i, 5])));
    run(1);
    run(64);
    expect(measure.outs[1]?.values).toBe(measure.outs[0]?.values);
    run(65);
    const sizes = measure.outs.map((out) =>
      [out.values, out.validity, out.reference, out.which].map((one) => one.length),
    );
    expect(sizes).toEqual([
      [64, 64, 64, 64],
      [64, 64, 64, 64],
      [128, 128, 128, 128],
    ]);
  });

  it('give other numbers that they keep, each limit its own', () => {
    const readings = [{ name: 's above 10', value: 3 }];
    const { run } = measured(
      { limit: rate('x', 'A') },
      { limit: rate('y', 'A'), measuring: { readings: () => readings } },
    );
    expect([0, 1, 2].map((limit) => run.readings?.(limit))).toEqual([[], readings, []]);
  });
});

describe('what is wrong with a limit that measures', () => {
  it('is found in its levels, on the side its kind has none, and in the names of what it reads', () => {
    measured({ limit: rate('x', 'A', { above: {} }) });
    expect(findings).toEqual([
      'x wrong-shape at undefined: no level, expected a value above or below for at least one level',
    ]);
    findings.length = 0;
    measured(
      { limit: limitOf('x', 'logic', 'A', { above: { caution: 1 } }) },
      { limit: limitOf('x', 'containment', 'A', { below: { caution: 1 } }) },
      { limit: rate('x', 'A', { below: { caution: 1 } }) },
    );
    expect(findings).toEqual([]);
    measured({ limit: limitOf('x', 'logic', 'A', { above: { caution: 1 }, below: { caution: 0 } }) });
    expect(findings).toEqual([
      'x wrong-shape at below: below, expected above, the only side that kind logic has levels on',
    ]);
    findings.length = 0;
    measured({ limit: limitOf('x', 'containment', 'A', { above: { caution: 1 } }) });
    expect(findings).toEqual([
      'x wrong-shape at above: above, expected below, the only side that kind containment has levels on',
    ]);
    findings.length = 0;
    const { run } = measured({ limit: rate('x', 'A'), measuring: { inputs: ['A', 'NONE', 'S'] } });
    expect(findings).toEqual([
      'x unknown-name at undefined: NONE, expected the id of a parameter or derived parameter',
    ]);
    expect(run.save()).toMatchObject({ measures: [] });
  });

  it('is found by the measure too, which then does not run', () => {
    const { contexts, told } = measured({ limit: rate('x', 'A'), measuring: undefined });
    contexts[0]?.finding('bad-value', 'this', 'that', { at: 'window' });
    expect(findings).toEqual(['x bad-value at window: this, expected that']);
    expect(told(main([1, 11]))).toEqual([]);
  });
});

describe('what limits that measure carry', () => {
  const gates = [{ source: { group: 1, place: 1 }, oldest: 200 }];
  const make = (caution: number) =>
    measured({ limit: rate('x', 'A', { above: { caution } }), gates, measuring: { inputs: ['S'] } });

  it('goes on from a saved state: measure, inputs, levels and what puts them in force', () => {
    const before = make(10);
    before.measure.state = 7;
    before.told(main([1, 0]), slow([1, 11, 1]));
    const saved = structuredClone(before.run.save());
    const after = make(10);
    after.run.restore(saved);
    expect(after.measure.state).toBe(7);
    expect(after.read()).toEqual(before.read());
    expect(after.read()).toEqual([['outside', 2, 11, 10]]);
    expect(after.told(main([2, 0]))).toEqual([]);
    expect(after.measure.spans).toEqual([{ time: [2], gate: [OPEN], inputs: [[11]] }]);
  });

  it('goes into the same limit with other values, as a copy', () => {
    const before = make(10);
    before.measure.state = { kept: 1 };
    before.told(main([1, 0]), slow([1, 11, 1]));
    const after = make(12);
    after.run.adopt(before.run);
    expect(after.measure.state).toEqual({ kept: 1 });
    expect(after.measure.state).not.toBe(before.measure.state);
    expect(after.told(main([2, 0]))).toEqual(['0 2 inside']);
    expect(after.measure.spans).toEqual([{ time: [2], gate: [OPEN], inputs: [[11]] }]);
  });

  it('is refused when it is of other limits', () => {
    const { run } = make(10);
    const saved = run.save() as { levels: { gates: unknown }; measures: unknown[] };
    const refusal = 'saved measures are not those of these limits';
    for (const state of [undefined, {}, { measures: {} }, { ...saved, measures: [] }]) {
      expect(() => run.restore(state)).toThrow(refusal);
    }
    expect(() => run.restore({ measures: saved.measures })).toThrow('saved conditions of limits');
    const gateless = { ...saved, levels: { ...saved.levels, gates: undefined } };
    expect(() => run.restore(gateless)).toThrow('saved held times');
    const inputless = { ...saved, measures: [{ measure: 0, inputs: [] }] };
    expect(() => run.restore(inputless)).toThrow('saved input of a limit lacks');
  });
});
