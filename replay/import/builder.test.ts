import fc from 'fast-check';
import { expect, test } from 'vitest';
import type { Mission } from '../../protocol/mission.ts';
import type { CountFormat, Parameter } from '../../protocol/parameter.ts';
import { SECOND } from '../../protocol/time.ts';
import { readBack } from '../../test/support/imported.ts';
import { mission as tiny } from '../../test/support/tiny-mission.ts';
import {
  type ImportedGroup,
  importedEntries,
  plainParameter,
  plainPages,
  staleAfterOf,
  timedGroup,
} from './builder.ts';

const START = 1_795_600_000_000_000;

const flight = (groups: { id: string; staleAfter?: number; times: number[]; columns: Record<string, number[]> }[]) => {
  const formats: Record<string, CountFormat> = { B: 'u8', C: 'f32' };
  const parameters: Parameter[] = groups.flatMap(({ id, columns }) =>
    Object.keys(columns).map((name) => plainParameter(name, name, '1', id, { format: formats[name] ?? 'f64' })),
  );
  const mission: Mission = tiny({
    receivers: [],
    groups: groups.map(({ id, staleAfter = SECOND }) => timedGroup(id, staleAfter)),
    parameters,
  });
  const imported: ImportedGroup[] = groups.map(({ id, times, columns }) => ({
    id,
    time: Float64Array.from(times),
    columns: new Map(Object.entries(columns).map(([name, values]) => [name, Float64Array.from(values)])),
  }));
  return { mission, files: [], groups: imported };
};

test('every sample comes back with its own time and every bit of its value, whatever the rates', () => {
  const steps = fc.array(fc.nat(3 * SECOND), { maxLength: 30 });
  const rows = fc.tuple(steps, fc.array(fc.double(), { minLength: 30, maxLength: 30 }));
  fc.assert(
    fc.property(rows, rows, ([slow, a], [fast, c]) => {
      const times = (list: number[], scale: number) => {
        let at = START;
        return list.map((step) => (at += Math.floor(step / scale)));
      };
      const one = times(slow, 1);
      const two = times(fast, 100);
      const made = flight([
        { id: 'slow', times: one, columns: { B: one.map((_, i) => i % 256), A: a.slice(0, one.length) } },
        { id: 'fast', times: two, columns: { C: c.slice(0, two.length).map(Math.fround) } },
      ]);
      const read = readBack(made.mission, importedEntries(made));
      expect(read.time.get('slow') ?? []).toEqual(one);
      expect(read.time.get('fast') ?? []).toEqual(two);
      expect(read.values.get('A') ?? []).toEqual(a.slice(0, one.length));
      expect(read.values.get('B') ?? []).toEqual(one.map((_, i) => i % 256));
      expect(read.values.get('C') ?? []).toEqual(c.slice(0, two.length).map(Math.fround));
    }),
    { seed: 3, numRuns: 60 },
  );
});

test('a slow stream is no silent one, and a gap falls silent once', () => {
  const times = [0, 1, 2, 3, 600].map((s) => START + s * SECOND);
  const made = flight([{ id: 'slow', staleAfter: 3 * SECOND, times, columns: { A: [1, 2, 3, 4, 5] } }]);
  const entries = [...importedEntries(made)];
  const heard = entries.filter((entry) => entry.kind === 'frame').map((entry) => entry.ground);
  // until the group is stale, 3 s after the last sample, the stream is never quiet for 0.5 s
  const quiet = heard.slice(1).map((ground, i) => ground - (heard[i] as number));
  expect(quiet.filter((pause) => pause >= SECOND / 2)).toEqual([expect.closeTo(594 * SECOND, -6.5)]);
  const ticks = entries.filter((entry) => entry.kind === 'tick').map((entry) => entry.ground);
  // then ticks let it be noticed: silent after 1 s
  const lastBeat = heard.at(-2) as number;
  expect(Math.max(...ticks) - lastBeat).toBeGreaterThan(SECOND);
  expect(ticks.length).toBeLessThan(12);
  expect(entries[0]).toMatchObject({ kind: 'configuration', ground: START });
});

test('samples of one moment travel in one frame, however many groups', () => {
  const times = Array.from({ length: 50 }, (_, i) => START + i * 100_000);
  const made = flight([
    { id: 'one', times, columns: { A: times } },
    { id: 'two', times: times.map((t) => t + 5000), columns: { D: times } },
  ]);
  expect(readBack(made.mission, importedEntries(made))).toMatchObject({ frames: 50, beats: 0 });
});

test('many samples at one moment are cut into frames that fit', () => {
  const times = new Array<number>(150_000).fill(START);
  const made = flight([{ id: 'one', times, columns: { A: times.map((_, i) => i) } }]);
  const read = readBack(made.mission, importedEntries(made));
  expect(read.frames).toBeGreaterThan(2);
  expect(read.values.get('A')?.length).toBe(150_000);
  expect(read.values.get('A')?.at(-1)).toBe(149_999);
});

test('nothing imported is no entry', () => {
  expect([...importedEntries(flight([{ id: 'one', times: [], columns: { A: [] } }]))]).toEqual([]);
});

test('a group is stale after three middle periods, at least half a second', () => {
  expect(staleAfterOf(Float64Array.from([0, 1, 2, 3, 50].map((s) => s * SECOND)))).toBe(3 * SECOND);
  expect(staleAfterOf(Float64Array.from([0, 1000, 2000]))).toBe(SECOND / 2);
  expect(staleAfterOf(Float64Array.from([0]))).toBe(SECOND / 2);
});

test('plain pages show every parameter once, those of one unit together', () => {
  const parameters = Array.from({ length: 30 }, (_, i) => plainParameter(`P${i}`, 'p', i % 2 ? 'm' : 's', 'g'));
  const pages = plainPages({ parameters, derived: [] });
  const shown = pages.flatMap((page) => page.rows.flatMap((row) => row.elements.flatMap((e) => e.parameters)));
  expect(shown.sort()).toEqual(parameters.map((p) => p.id).sort());
  for (const page of pages) {
    expect(page.rows.reduce((sum, row) => sum + row.height, 0)).toBeCloseTo(1);
    for (const { elements } of page.rows)
      for (const { parameters: ids } of elements) expect(ids.length).toBeLessThan(5);
  }
});
