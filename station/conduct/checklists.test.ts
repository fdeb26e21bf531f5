import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { ConductAction } from '../../protocol/conduct.ts';
import type { ActionEntry } from '../../protocol/entry.ts';
import { emptyStream } from '../../protocol/fold.ts';
import type { Mission } from '../../protocol/mission.ts';
import type { Checklist } from '../../protocol/procedure.ts';
import { aircraftTime, groundTime, SECOND } from '../../protocol/time.ts';
import { Validity } from '../../protocol/validity.ts';
import { entry, GROUND, nothingKnown } from '../../test/support/conduct.ts';
import { batchOf, framesAt } from '../../test/support/tiny-batch.ts';
import { mission, parameter } from '../../test/support/tiny-mission.ts';
import { Checklists } from './checklists.ts';
import type { Moment } from './part.ts';

const steps = ['say it', 'do it'];
const lists: Checklist[] = [
  { id: 'voice', title: 'Voice lost', shown: 'voice lost', steps },
  { id: 'link', title: 'Link lost', shown: 'link lost', after: 2, steps },
  { id: 'contact', title: 'Contact lost', shown: 'contact lost', after: 5, steps },
  { id: 'chip', title: 'Chips', shown: 'condition', when: 'CHIP', steps },
];
const of: Mission = mission({ parameters: [parameter('CHIP', 'main')], checklists: lists });
const S = SECOND;

/** A part, and what happens to it, in seconds of ground time. `heard` is the newest frame. */
class Room {
  part = new Checklists(of);
  heard = 0;

  pass(seconds: number, heard = this.heard): void {
    this.heard = heard;
    this.part.pass(groundTime(seconds * S), aircraftTime(0), groundTime(heard * S));
  }

  act(seconds: number, action: Partial<ConductAction>, person = 'tc'): string {
    const whole = { subject: '', number: 0, choice: '', text: '', value: 0, aircraft: 0, ...action } as ConductAction;
    const made: ActionEntry = entry('test conductor', whole, { ground: groundTime(seconds * S), person });
    const stream = { ...emptyStream(), lastGround: groundTime(this.heard * S) };
    const moment = { ...nothingKnown, room: () => ({ ...nothingKnown.room(), stream }) } as unknown as Moment;
    return this.part.act(made, whole, moment);
  }

  voice(seconds: number, choice: string, text = '', person = 'tc'): string {
    return this.act(seconds, { act: 'report voice', choice, text }, person);
  }

  tick(seconds: number, subject: string, number: number, choice = 'done', person = 'tc'): string {
    return this.act(seconds, { act: 'tick checklist', subject, number, choice }, person);
  }

  chip(at: number[], values: number[], codes: number[] = []): void {
    const instants = at.map((t, i) => ({ time: t * S, values: [values[i] as number], validity: [codes[i] ?? 0] }));
    this.part.run(
      [batchOf(0, [0], instants)],
      framesAt(
        at.map((t) => t * S),
        50_000,
      ),
    );
  }

  shown(): Record<string, number> {
    const open = this.part.view().filter(({ shownSince }) => shownSince > 0);
    return Object.fromEntries(open.map(({ id, shownSince }) => [id, shownSince / S]));
  }

  ticks(id: string): number[] {
    return (
      this.part
        .view()
        .find((one) => one.id === id)
        ?.ticks.map(({ step }) => step) ?? []
    );
  }
}

describe('voice', () => {
  it('is lost from the first report until every loop is restored, and shows its checklist meanwhile', () => {
    const room = new Room();
    expect(room.voice(10, 'lost', 'radio 1', 'rs')).toBe('');
    expect(room.voice(12, 'lost', 'radio 2')).toBe('');
    expect(room.part.voiceLost()).toEqual({ since: 10 * S, person: 'rs', loop: 'radio 1, radio 2' });
    expect(room.shown()).toEqual({ voice: 10 });
    expect(room.voice(13, 'restored', 'radio 1')).toBe('');
    expect(room.part.voiceLost()).toEqual({ since: 12 * S, person: 'tc', loop: 'radio 2' });
    expect(room.shown()).toEqual({ voice: 10 });
    expect(room.voice(14, 'restored')).toBe('');
    expect(room.part.voiceLost()).toBeNull();
    expect(room.shown()).toEqual({});
  });

  it('refuses what makes no sense, in words', () => {
    const room = new Room();
    expect(room.voice(1, 'restored')).toBe('voice is not reported lost');
    expect(room.voice(1, 'gone')).toBe('voice is reported lost or restored, not gone');
    room.voice(2, 'lost', 'radio 1', 'rs');
    expect(room.voice(3, 'lost', ' radio 1 ')).toBe('voice on radio 1 is reported lost already, by rs');
    expect(room.voice(3, 'restored', 'radio 2')).toBe('voice on radio 2 is not reported lost, but radio 1');
  });
});

describe('silence', () => {
  it('shows the lost-link checklist after its seconds of ground time, from then on, until a frame comes', () => {
    const room = new Room();
    room.pass(1000);
    expect(room.shown()).toEqual({});
    room.pass(1001, 1001);
    room.pass(1002.99);
    expect(room.shown()).toEqual({});
    room.pass(1003.02);
    expect(room.shown()).toEqual({ link: 1003 });
    room.pass(1060);
    expect(room.shown()).toEqual({ link: 1003 });
    room.pass(1061, 1061);
    expect(room.shown()).toEqual({});
  });

  it('is contact lost only with voice lost too, from the later of the two', () => {
    const silentFirst = new Room();
    silentFirst.pass(1, 1);
    silentFirst.pass(6);
    expect(silentFirst.shown()).toEqual({ link: 3 });
    silentFirst.voice(8, 'lost');
    expect(silentFirst.shown()).toEqual({ link: 3, voice: 8, contact: 8 });
    silentFirst.voice(9, 'restored');
    expect(silentFirst.shown()).toEqual({ link: 3 });
    const voiceFirst = new Room();
    voiceFirst.pass(1, 1);
    voiceFirst.voice(2, 'lost');
    voiceFirst.pass(5.98);
    expect(voiceFirst.shown()).toEqual({ link: 3, voice: 2 });
    voiceFirst.pass(6);
    expect(voiceFirst.shown()).toEqual({ link: 3, voice: 2, contact: 6 });
  });

  it('begins anew with the next silence, though no time passed between', () => {
    const room = new Room();
    room.pass(1, 1);
    room.pass(4);
    room.tick(4, 'link', 1);
    room.pass(12, 9);
    expect(room.shown()).toEqual({ link: 11 });
    expect(room.ticks('link')).toEqual([]);
  });

  it('has ended for an act when frames came that no time passed for', () => {
    const room = new Room();
    room.pass(1, 1);
    room.pass(4);
    room.heard = 4.5;
    expect(room.tick(4.6, 'link', 1)).toBe('checklist Link lost is not shown: nothing asks for it now');
  });
});

describe('a condition', () => {
  it('shows its checklist from the frame that brought it until it has ended; while it cannot be told nothing changes', () => {
    const room = new Room();
    room.chip([1, 2, 3], [0, 1, 1]);
    expect(room.shown()).toEqual({ chip: 2.05 });
    room.chip([4, 5], [0, 0], [Validity.link, Validity.stale]);
    expect(room.shown()).toEqual({ chip: 2.05 });
    room.chip([6], [0]);
    expect(room.shown()).toEqual({});
    room.chip([7], [1], [Validity.frozen]);
    expect(room.shown()).toEqual({});
    room.chip([8, 9, 10], [1, 0, 1]);
    expect(room.shown()).toEqual({ chip: 10.05 });
  });
});

describe('ticks', () => {
  it('are kept with who and when, taken back, and refused with the reason', () => {
    const room = new Room();
    expect(room.tick(1, 'voice', 1)).toBe('checklist Voice lost is not shown: nothing asks for it now');
    expect(room.tick(1, 'nothing', 1)).toBe('there is no checklist nothing');
    room.voice(2, 'lost');
    expect(room.tick(3, 'voice', 2, 'done', 'rs')).toBe('');
    expect(room.part.view()[0]?.ticks).toEqual([{ step: 2, person: 'rs', ground: 3 * S }]);
    expect(room.tick(4, 'voice', 2)).toBe('step 2 was ticked already, by rs');
    expect(room.tick(4, 'voice', 1, 'open')).toBe('step 1 is open');
    expect(room.tick(4, 'voice', 2, 'open')).toBe('');
    expect(room.ticks('voice')).toEqual([]);
    for (const number of [0, 3, 1.5]) expect(room.tick(4, 'voice', number)).toContain('steps 1 to 2');
    expect(room.tick(4, 'voice', 1, 'maybe')).toBe('a step is done or open, not maybe');
  });

  it('hide a checklist when all are there; one that is taken back shows it again; the next time begins empty', () => {
    const room = new Room();
    room.voice(2, 'lost');
    room.tick(3, 'voice', 1);
    expect(room.shown()).toEqual({ voice: 2 });
    room.tick(4, 'voice', 2);
    expect(room.shown()).toEqual({});
    expect(room.ticks('voice')).toEqual([1, 2]);
    room.tick(5, 'voice', 1, 'open');
    expect(room.shown()).toEqual({ voice: 2 });
    room.voice(6, 'restored');
    room.voice(7, 'lost');
    expect(room.shown()).toEqual({ voice: 7 });
    expect(room.ticks('voice')).toEqual([]);
  });
});

describe('the state of checklists', () => {
  const event = fc.record({
    what: fc.constantFrom('voice', 'tick', 'pass', 'frame', 'chip'),
    wait: fc.integer({ min: 1, max: 40 }),
    choice: fc.constantFrom('lost', 'restored'),
    list: fc.constantFrom('voice', 'link', 'contact', 'chip'),
    number: fc.integer({ min: 1, max: 2 }),
    done: fc.constantFrom('done', 'open'),
    chip: fc.integer({ min: 0, max: 1 }),
    code: fc.constantFrom(Validity.good, Validity.link),
  });

  it('is everything: carried over anywhere into a new part, the rest is the same', () => {
    fc.assert(
      fc.property(fc.array(event, { minLength: 5, maxLength: 40 }), fc.integer({ min: 0, max: 39 }), (events, at) => {
        const fly = (cut: number): string[] => {
          const room = new Room();
          let now = GROUND / S;
          return events.map((one, i) => {
            if (i === cut) {
              const state = structuredClone(room.part.save());
              room.part = new Checklists(of);
              room.voice(1, 'lost', 'of another life');
              room.part.restore(state);
            }
            now += one.wait / 10;
            let said = '';
            if (one.what === 'voice') said = room.voice(now, one.choice);
            else if (one.what === 'tick') said = room.tick(now, one.list, one.number, one.done);
            else if (one.what === 'chip') room.chip([now], [one.chip], [one.code]);
            else room.pass(now, one.what === 'frame' ? now : room.heard);
            return `${said} ${JSON.stringify(room.part.view())} ${JSON.stringify(room.part.voiceLost())}`;
          });
        };
        expect(fly(at)).toEqual(fly(-1));
      }),
      { seed: 43, numRuns: 300 },
    );
  });

  it('is refused when something is missing; of a recording from before there was any, all is closed', () => {
    const part = new Checklists(of);
    expect(() => part.restore({ open: {} })).toThrow('saved checklists lack what is open');
    part.restore(undefined);
    expect(part.view().every(({ shownSince }) => shownSince === 0)).toBe(true);
  });
});
