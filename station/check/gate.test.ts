import { describe, expect, it } from 'vitest';
import type { Batch } from '../../protocol/batch.ts';
import { Validity } from '../../protocol/validity.ts';
import { batchOf } from '../../test/support/tiny-batch.ts';
import { CLOSED, Gates, OPEN, UNKNOWN } from './gate.ts';
import type { GateSource } from './kind.ts';

const { good, extrapolated, link } = Validity;
const NA = Number.NaN;

/** The first column of group 0, the one whose limits are gated, and that of group 1. */
const own: GateSource = { source: { group: 0, place: 0 }, oldest: 50 };
const other: GateSource = { source: { group: 1, place: 0 }, oldest: 50 };
const phases = (...open: number[]): { open: Uint8Array } => ({ open: Uint8Array.from(open) });

type Sample = readonly [time: number, value: number, code?: number];
const batch = (group: number, ...samples: Sample[]): Batch =>
  batchOf(
    group,
    [group],
    samples.map(([time, value, code = good]) => ({ time, values: [value], validity: [code] })),
  );
/** Only its lowest, highest and worst can be read. */
const closedBook = (of: Batch): Batch => ({ ...of, values: [], validity: [] });
/** Of its times only the first and the last can be read. */
const outerTimes = (of: Batch): Batch => {
  const last = of.length - 1;
  const time = Object.assign([], { 0: of.time[0], [last]: of.time[last] }) as unknown as Float64Array;
  return { ...of, time };
};

/** Gates of group 0, with the number of the one under test. */
function gatesOf(...sources: GateSource[]): { gates: Gates; gate: number } {
  const gates = new Gates();
  return { gates, gate: gates.addAll(sources, 0) };
}

/** Codes of each sample, and what the block as a whole says. */
function said(sources: GateSource[], ...runs: (readonly (Batch | undefined)[])[]): [number[], number] {
  const { gates, gate } = gatesOf(...sources);
  for (const batches of runs) gates.run(batches);
  const length = runs.at(-1)?.[0]?.length ?? 0;
  return [Array.from(gates.codesOf(gate, length)).slice(0, length), gates.summaryOf(gate)];
}

describe('what puts a limit in force', () => {
  it('is one gate for all that ask for the same, and none for those that ask for nothing', () => {
    const gates = new Gates();
    expect(gates.addAll([], 0)).toBe(-1);
    const first = gates.addAll([own], 0);
    expect(gates.addAll([own], 0)).toBe(first);
    const apart = [
      gates.addAll([own], 1),
      gates.addAll([other], 0),
      gates.addAll([{ ...own, source: { group: 0, place: 1 } }], 0),
      gates.addAll([{ ...own, ...phases(0, 1) }], 0),
      gates.addAll([{ ...own, ...phases(1, 0) }], 0),
      gates.addAll([own, other], 0),
    ];
    expect(new Set([first, ...apart]).size).toBe(7);
    expect(gates.addAll([own, other], 0)).toBe(apart.at(-1));
    expect(gates.addAll([{ ...own, ...phases(1, 0) }], 0)).toBe(apart[4]);
  });

  it('is open at every usable value but zero, and unknown where there is none', () => {
    expect(said([own], [batch(0, [0, 1], [1, 0], [2, -0.5], [3, 1, link], [4, NA], [5, 1, extrapolated])])).toEqual([
      [OPEN, CLOSED, OPEN, UNKNOWN, UNKNOWN, OPEN],
      OPEN | CLOSED | UNKNOWN,
    ]);
    expect(said([own], [batch(0, [0, 1, link], [1, 0, link])])).toEqual([[UNKNOWN, UNKNOWN], UNKNOWN]);
  });

  it('says of a block the codes in it, and no other', () => {
    expect(said([own], [batch(0, [0, 0], [1, 0, link])])).toEqual([[CLOSED, UNKNOWN], CLOSED | UNKNOWN]);
    expect(said([own], [batch(0, [0, 0], [1, -1])])).toEqual([[CLOSED, OPEN], CLOSED | OPEN]);
    expect(said([own], [batch(0, [0, 0], [1, 1])])).toEqual([[CLOSED, OPEN], CLOSED | OPEN]);
    expect(said([other], [batch(0, [0, 9], [1, 9]), batch(1, [0, 0], [1, 1])])).toEqual([
      [CLOSED, OPEN],
      CLOSED | OPEN,
    ]);
  });

  it('of a phase is open in the phases that are named, whole numbers from 0', () => {
    const some = { ...own, ...phases(0, 1, 0) };
    expect(said([some], [batch(0, [0, 0], [1, 1], [2, 2], [3, 3], [4, 1.5], [5, -1], [6, 1, link])])).toEqual([
      [CLOSED, OPEN, CLOSED, CLOSED, CLOSED, CLOSED, UNKNOWN],
      OPEN | CLOSED | UNKNOWN,
    ]);
    expect(said([some], [batch(0, [0, 1], [1, 2])])).toEqual([[OPEN, CLOSED], OPEN | CLOSED]);
  });

  it('of the same rate group goes by the very sample, though two are of one time', () => {
    expect(said([own], [batch(0, [5, 0], [5, 1])])).toEqual([[CLOSED, OPEN], OPEN | CLOSED]);
  });
});

describe('what puts a limit in force, from another rate group', () => {
  const now = (...times: number[]): Batch => batch(0, ...times.map((time): Sample => [time, 9]));

  it('is its latest sample that is not later', () => {
    expect(said([other], [now(10, 20, 30, 40), batch(1, [20, 1], [31, 0])])).toEqual([
      [UNKNOWN, OPEN, OPEN, CLOSED],
      OPEN | CLOSED | UNKNOWN,
    ]);
    expect(said([other], [now(10, 20), batch(1, [5, 1], [10, 0], [15, 1, link], [20, NA], [21, 1])])).toEqual([
      [CLOSED, UNKNOWN],
      CLOSED | UNKNOWN,
    ]);
  });

  it('is held over runs until it is older than it may be, also over runs with an empty batch', () => {
    const before = [undefined, batch(1, [0, 0], [10, 1])];
    expect(said([other], before, [now(10, 60)])).toEqual([[OPEN, OPEN], OPEN]);
    expect(said([other], before, [now(59), batch(1)], [now(60, 61)])).toEqual([[OPEN, UNKNOWN], OPEN | UNKNOWN]);
    expect(said([other], before, [now(61)])).toEqual([[UNKNOWN], UNKNOWN]);
    // what is held is fresh to the end, and yet a newer one counts
    expect(said([other], before, [now(20, 30), batch(1, [25, 0])])).toEqual([[OPEN, CLOSED], OPEN | CLOSED]);
    // the one held does not age the newer one
    expect(said([other], before, [now(50, 90), batch(1, [45, 1])])).toEqual([[OPEN, OPEN], OPEN]);
    expect(said([other], before, [now(50, 90), batch(1, [45, 0])])).toEqual([[OPEN, CLOSED].map(() => CLOSED), CLOSED]);
  });

  it('is unknown before its first sample, and after aircraft time stepped back behind it', () => {
    expect(said([other], [now(10)])).toEqual([[UNKNOWN], UNKNOWN]);
    expect(said([other], [undefined, batch(1, [100, 1])], [now(60, 99, 100)])).toEqual([
      [UNKNOWN, UNKNOWN, OPEN],
      OPEN | UNKNOWN,
    ]);
  });

  it('that could not be told is held as that', () => {
    expect(said([other], [undefined, batch(1, [10, 1, link])], [now(20)])).toEqual([[UNKNOWN], UNKNOWN]);
    expect(said([{ ...other, ...phases(0, 1) }], [undefined, batch(1, [10, 1])], [now(20)])).toEqual([[OPEN], OPEN]);
  });

  it('goes on from a saved state, and refuses what is none', () => {
    const { gates } = gatesOf(other);
    gates.run([undefined, batch(1, [10, 1])]);
    const { gates: next, gate } = gatesOf(other);
    next.restore(structuredClone(gates.save()));
    next.run([now(20)]);
    expect(next.summaryOf(gate)).toBe(OPEN);
    expect(() => next.restore(undefined)).toThrow('saved held times');
    expect(() => next.restore({ heldTime: [0] })).toThrow('saved held states');
    expect(() => next.restore({ heldTime: [0], heldCode: [1] })).toThrow('saved newest states');
    expect(() => new Gates().restore(gates.save())).toThrow('saved held times');
  });
});

describe('several that must put a limit in force together', () => {
  const second: GateSource = { ...own, source: { group: 0, place: 1 } };
  const third: GateSource = { ...own, source: { group: 0, place: 2 } };
  const rows = (...values: number[][]): Batch =>
    batchOf(
      0,
      values[0]?.map((_, k) => k) ?? [],
      values.map((row, time) => ({
        time,
        values: row.map((v) => v || 0),
        validity: row.map((v) => (v === v ? 0 : link)),
      })),
    );

  it('are closed where any is, whatever the others say, and unknown where any is unknown', () => {
    const all = [0, 1, NA].flatMap((a) => [0, 1, NA].map((b) => [a, b]));
    const expected = [CLOSED, CLOSED, CLOSED, CLOSED, OPEN, UNKNOWN, CLOSED, UNKNOWN, UNKNOWN];
    expect(said([own, second], [rows(...all)])).toEqual([expected, OPEN | CLOSED | UNKNOWN]);
    all.forEach((row, k) => {
      expect(said([own, second], [rows(row, row)])).toEqual([[expected[k], expected[k]], expected[k]]);
    });
  });

  it('say of a block the codes in it, and no other', () => {
    expect(said([own, second], [rows([0, 1], [NA, 1])])).toEqual([[CLOSED, UNKNOWN], CLOSED | UNKNOWN]);
    expect(said([own, second], [rows([1, 0], [1, NA])])).toEqual([[CLOSED, UNKNOWN], CLOSED | UNKNOWN]);
    expect(said([own, second], [rows([1, 0], [0, 1])])).toEqual([[CLOSED, CLOSED], CLOSED]);
  });

  it('wait for samples of the limits they gate', () => {
    const { gates, gate } = gatesOf(own, other);
    gates.run([undefined, batch(1, [10, 1])]);
    gates.run([batch(0, [20, 1])]);
    expect(gates.summaryOf(gate)).toBe(OPEN);
  });

  it('may be three', () => {
    expect(said([own, second, third], [rows([1, 1, 1], [1, 1, 0], [1, 0, 1], [0, 1, 1])])[0]).toEqual([
      OPEN,
      CLOSED,
      CLOSED,
      CLOSED,
    ]);
  });
});

describe('what a gate said at the newest sample of its limits', () => {
  it('stands through runs without such samples, and through a restore', () => {
    const { gates, gate } = gatesOf(own);
    expect(gates.newestOf(gate)).toBe(UNKNOWN);
    for (const [samples, newest] of [
      [
        [
          [0, 1],
          [1, 1],
        ],
        OPEN,
      ],
      [
        [
          [2, 1],
          [3, 0],
        ],
        CLOSED,
      ],
      [
        [
          [4, 0],
          [5, 1],
        ],
        OPEN,
      ],
      [
        [
          [6, 1],
          [7, 1, link],
        ],
        UNKNOWN,
      ],
      [[[8, 0]], CLOSED],
    ] as [Sample[], number][]) {
      // longer memory than samples
      gates.run([batch(0, ...samples)]);
      expect(gates.newestOf(gate)).toBe(newest);
      gates.run([undefined]);
      gates.run([batch(0)]);
      expect(gates.newestOf(gate)).toBe(newest);
      const next = gatesOf(own);
      next.gates.restore(structuredClone(gates.save()));
      expect(next.gates.newestOf(next.gate)).toBe(newest);
    }
  });

  it('is that of all gates together', () => {
    const { gates, gate } = gatesOf(own, other);
    gates.run([batch(0, [10, 1], [20, 1]), batch(1, [10, 1], [20, 0])]);
    expect(gates.newestOf(gate)).toBe(CLOSED);
    gates.run([batch(0, [30, 1], [40, 1]), batch(1, [35, 1])]);
    expect(gates.newestOf(gate)).toBe(OPEN);
    gates.run([undefined, batch(1, [50, 0])]);
    expect(gates.newestOf(gate)).toBe(OPEN);
  });
});

describe('a block whose lowest, highest and worst tell all', () => {
  it.each<[string, GateSource, Sample[], number]>([
    [
      'above zero',
      own,
      [
        [0, 1],
        [1, 3],
      ],
      OPEN,
    ],
    [
      'below zero',
      own,
      [
        [0, -1],
        [1, -3],
      ],
      OPEN,
    ],
    [
      'zero',
      own,
      [
        [0, 0],
        [1, 0],
      ],
      CLOSED,
    ],
    [
      'marked and above zero',
      own,
      [
        [0, 1, extrapolated],
        [1, 3],
      ],
      OPEN,
    ],
    [
      'one phase that is named',
      { ...own, ...phases(0, 1) },
      [
        [0, 1],
        [1, 1],
      ],
      OPEN,
    ],
    [
      'one phase that is not',
      { ...own, ...phases(0, 1) },
      [
        [0, 0],
        [1, 0],
      ],
      CLOSED,
    ],
  ])('is not looked at sample by sample: %s', (_, source, samples, code) => {
    const { gates, gate } = gatesOf(source);
    gates.run([closedBook(batch(0, ...samples))]);
    expect(gates.summaryOf(gate)).toBe(code);
  });

  it('of another rate group neither, while what is held says the same and is fresh to the last', () => {
    const { gates, gate } = gatesOf(other);
    const span = outerTimes(batch(0, [10, 9], [40, 9], [60, 9]));
    gates.run([undefined, batch(1, [10, 1])]);
    gates.run([span]);
    expect(gates.summaryOf(gate)).toBe(OPEN);
    gates.run([span, batch(1, [20, 1], [30, 2])]);
    expect(gates.summaryOf(gate)).toBe(OPEN);
  });

  it('has that one code for each sample, whatever the run before had, in the memory of that run', () => {
    const { gates, gate } = gatesOf(other);
    gates.run([batch(0, [10, 9], [20, 9]), batch(1, [10, 1, link], [20, 1])]);
    const codes = gates.codesOf(gate, 2);
    expect(Array.from(codes)).toEqual([UNKNOWN, OPEN]);
    gates.run([undefined, batch(1, [30, 1, link])]);
    gates.run([batch(0, [30, 9], [40, 9])]);
    expect(Array.from(gates.codesOf(gate, 2))).toEqual([UNKNOWN, UNKNOWN]);
    expect(gates.codesOf(gate, 2)).toBe(codes);
    expect(gates.codesOf(gate, 1)).toBe(codes);
    // grows by no less than twice, so that it seldom does
    expect(gates.codesOf(gate, 3)).toHaveLength(4);
    expect(gates.codesOf(gate, 9)).toHaveLength(9);
  });
});
