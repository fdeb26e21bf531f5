/** A point flown through the whole fold: however frames are gathered and wherever the state is restored, the runs are the same. */
import { deserialize, serialize } from 'node:v8';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { ConductView } from '../../protocol/conduct.ts';
import type { Action, Entry } from '../../protocol/entry.ts';
import { groundTime, SECOND } from '../../protocol/time.ts';
import { Pipeline } from '../../station/pipeline.ts';
import { chance } from '../support/checked-channels.ts';
import { stopCall } from '../support/conduct.ts';
import { action, BEGIN, band, pointOf } from '../support/point-run.ts';
import { derived, frameBytes, frameEntry, group, mission, parameter } from '../support/tiny-mission.ts';

const FRAME = 20_000;
/** from the last sample of a frame to its receipt */
const DELAY = 40_000;

const point = pointOf({
  id: 'level',
  configuration: [{ text: 'Fast', when: 'level.configuration.1' }],
  tolerance: [band('IAS', 80, 3)],
  data: [band('IAS', 80, 3), band('ALT', 1000, 20)],
  required: ['IAS'],
  dwell: SECOND,
  hold: 2 * SECOND,
  predicted: [],
});
const of = mission({
  groups: [group('control', 100), group('air', 50)],
  parameters: [parameter('IAS', 'control', { unit: 'kt' }), parameter('ALT', 'air', { unit: 'ft' })],
  derived: [derived('level.configuration.1', 'IAS', 'IAS > 70[kt]', { condition: true })],
  cards: [{ id: 'level', title: 'Level', points: [point] }],
});

/** A flight of ten seconds: frames, some of them lost, and what people say at their seconds. */
function flightLog(seed: number): Entry[] {
  const { uniform } = chance(seed);
  const entries: Entry[] = [{ kind: 'configuration', ground: groundTime(BEGIN), mission: of, files: [] }];
  const said: [number, Action, string][] = [
    [0.5, action('begin point', { subject: 'level' }), 'test conductor'],
    [3 + uniform(), action('enter gate', { number: 1, choice: 'on condition' }), 'test conductor'],
    ...(uniform() < 0.3
      ? [[5, stopCall({ stopClass: 2, word: 'STOP TEST' }), 'test conductor'] as [number, Action, string]]
      : []),
    [7 + uniform(), action('enter gate', { number: 1, choice: 'recover' }), 'test conductor'],
    [8.5, action('judge point', { number: 1, choice: 'repeat', text: 'again' }), 'test conductor'],
    [8.6, action('press stopwatch', { subject: 'a', choice: 'start' }), 'engine'],
    [9, action('enter gate', { number: 1, choice: 'closed' }), 'test conductor'],
  ];
  const loss = uniform() * 0.1;
  const gust = uniform() * 4;
  for (let i = 0; i < 500; i++) {
    const time = BEGIN + i * FRAME;
    const ias = (k: number) => Math.round((i < 50 ? 70 : 80) + gust * Math.sin((2 * i + k) / 17));
    const groups = [
      { group: 'control', rows: [{ IAS: ias(0) }, { IAS: ias(1) }] },
      { group: 'air', rows: [{ ALT: 1000 + (i % 9) }] },
    ];
    const ground = time + FRAME + DELAY;
    for (let next = said[0]; next && next[0] * SECOND + BEGIN < ground; next = said[0]) {
      said.shift();
      const [seconds, what, position] = next;
      const person = position === 'engine' ? 'engineer' : 'conductor';
      const made =
        'aircraft' in what && what.act !== 'mark'
          ? { ...what, aircraft: BEGIN + Math.round((seconds - 0.3) * SECOND) }
          : what;
      entries.push({
        kind: 'action',
        ground: groundTime(ground),
        person,
        position,
        request: entries.length,
        action: made,
      });
    }
    if (uniform() >= loss) entries.push(frameEntry(ground, frameBytes(of, i, time, groups)));
  }
  return entries;
}

function folded(entries: Entry[], gather: number, restoreAt = -1): { view: ConductView; refused: string[] } {
  let pipeline = new Pipeline({ gather });
  const refused: string[] = [];
  for (const [n, one] of entries.entries()) {
    for (const { reason } of pipeline.step(one).results) if (reason) refused.push(reason);
    if (n !== restoreAt) continue;
    pipeline.flush();
    const saved = deserialize(serialize(pipeline.save()));
    pipeline = new Pipeline({ gather });
    pipeline.step(entries[0] as Entry);
    pipeline.restore(saved);
  }
  pipeline.flush();
  return { view: structuredClone(pipeline.conduct() as ConductView), refused };
}

describe('points in the fold', () => {
  it('are the same however frames are gathered and wherever the state was restored', () => {
    let [closed, repeats, stopped] = [0, 0, 0];
    fc.assert(
      fc.property(
        fc.nat(1000),
        fc.constantFrom(30_000, 100_000, 700_000),
        fc.integer({ min: 1, max: 400 }),
        (seed, gather, restoreAt) => {
          const entries = flightLog(seed);
          const whole = folded(entries, 0);
          expect(folded(entries, gather, restoreAt)).toEqual(whole);
          expect(whole.view.faults).toEqual([]);
          const [run] = whole.view.points;
          if (run?.gate === 'closed') closed++;
          if (run?.advice?.judgement === 'repeat') repeats++;
          if (run?.advice?.reasons.some((reason) => reason.startsWith('stop call'))) stopped++;
          expect(whole.view.stopwatches).toMatchObject([{ name: 'a', running: true, from: BEGIN + 8.3 * SECOND }]);
        },
      ),
      { seed: 20261125, numRuns: 25 },
    );
    expect([closed > 15, repeats > 3, stopped > 1]).toEqual([true, true, true]);
  });
});
