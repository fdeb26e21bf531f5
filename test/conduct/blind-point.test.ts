/** The link is lost on a point: the whole room is told that class 2 is due, 2 s after the last frame, and no sooner. */
import { describe, expect, it } from 'vitest';
import type { Card } from '../../protocol/card.ts';
import type { Action, Entry } from '../../protocol/entry.ts';
import { groundTime, SECOND } from '../../protocol/time.ts';
import { Pipeline } from '../../station/pipeline.ts';
import { frameBytes, frameEntry, mission } from '../support/tiny-mission.ts';

const TICK = 20_000;
const START = 1_790_000_000 * SECOND;

const point: Card['points'][number] = {
  ...{ id: 'hover', title: 'Hover', card: 'c', configuration: [], tolerance: [], data: [], dwell: SECOND },
  ...{ hold: 10 * SECOND, mayBeOutside: 0, manoeuvre: '', recordFrom: 'on condition', recover: '', stops: [] },
  ...{ required: ['A'], dropout: 0, repeatRule: '', predicted: [] },
};
const of = (required: string[]) => mission({ cards: [{ id: 'c', title: 'C', points: [{ ...point, required }] }] });

function flight(required: string[], gather = 0) {
  const pipeline = new Pipeline({ gather });
  const lit = of(required);
  let ground = START;
  let frames = 0;
  const step = (entry: Entry) => structuredClone(pipeline.step(entry).results);
  step({ kind: 'configuration', ground: groundTime(ground), mission: lit, files: [] });
  const fly = (seconds: number) => {
    for (let i = 0; i < seconds * 50; i++) {
      ground += TICK;
      const rows = [{ A: 1 }, { A: 1 }];
      step(frameEntry(ground, frameBytes(lit, frames++, ground - TICK, [{ group: 'main', rows }])));
    }
  };
  /** seconds of silence, tick by tick; when a prompt came, and whether the room was told at once */
  const silence = (seconds: number): number[] => {
    const came: number[] = [];
    const from = ground;
    for (let i = 0; i < seconds * 50; i++) {
      ground += TICK;
      const told = pipeline.step({ kind: 'tick', ground: groundTime(ground) }).roomChanged;
      if (told && pipeline.room().prompts.length > 0) came.push((ground - from) / SECOND);
    }
    return came;
  };
  let request = 0;
  const act = (action: Action): string => {
    const by = { person: 'conductor', position: 'test conductor', request: ++request };
    return step({ kind: 'action', ground: groundTime(ground), ...by, action })[0]?.reason ?? 'no answer';
  };
  const conduct = (act_: string, more: object) =>
    act({ act: act_, subject: '', number: 0, choice: '', text: '', value: 0, aircraft: 0, ...more } as Action);
  return { pipeline, fly, silence, act, conduct };
}

describe('a point on which the link is lost', () => {
  it.each([0, 300_000])(
    'asks for class 2 from 2.0 s on, at whatever gather (%i us), until a call answers',
    (gather) => {
      const room = flight(['A'], gather);
      room.fly(1);
      expect(room.conduct('begin point', { subject: 'hover' })).toBe('');
      room.fly(2);
      expect(room.conduct('enter gate', { number: 1, choice: 'on condition' })).toBe('');
      expect(room.silence(1.98)).toEqual([]);
      expect(room.silence(0.02)).toEqual([0.02]);
      const [prompt] = room.pipeline.room().prompts;
      expect(prompt).toMatchObject({ stopClass: 2, words: ['STOP TEST'], text: 'No telemetry for 2 s on point hover' });
      const call = { act: 'stop call', stopClass: 2, word: 'STOP TEST', reason: 'no data', caller: '' } as const;
      expect(room.act({ ...call, alarm: prompt?.alarm ?? '' })).toBe('');
      expect(room.pipeline.room().prompts).toEqual([]);
    },
  );

  it('asks for nothing where the point does not need the ground, or none is flown', () => {
    const free = flight([]);
    free.fly(1);
    free.conduct('begin point', { subject: 'hover' });
    free.fly(2);
    free.conduct('enter gate', { number: 1, choice: 'on condition' });
    expect(free.silence(4)).toEqual([]);
    const idle = flight(['A']);
    idle.fly(1);
    expect(idle.silence(4)).toEqual([]);
  });

  it('asks no longer when data is back', () => {
    const room = flight(['A']);
    room.fly(1);
    room.conduct('begin point', { subject: 'hover' });
    room.fly(2);
    room.conduct('enter gate', { number: 1, choice: 'on condition' });
    room.silence(3);
    expect(room.pipeline.room().prompts).toHaveLength(1);
    room.fly(0.1);
    expect(room.pipeline.room().prompts).toEqual([]);
  });
});
