/** A room made ready: what is missing is listed and refuses, what becomes missing takes answers away. */
import { beforeEach, describe, expect, it } from 'vitest';
import type { Action } from '../../protocol/entry.ts';
import { limitValues } from '../../protocol/release.ts';
import { SECOND } from '../../protocol/time.ts';
import { Room } from '../support/ready-people.ts';
import { fuelled, idAt, linkLimits, readyMission, say, seats, weight } from '../support/ready-room.ts';
import { group, parameter } from '../support/tiny-mission.ts';

const all = (answer: string) => Object.fromEntries(seats.map((position) => [position, answer]));

let room: Room;
beforeEach(() => {
  room = new Room();
});

describe('what is missing', () => {
  it('is all there is before the first frame, each with the position that can mend it', () => {
    expect(room.missing).toEqual([
      'room: no telemetry',
      'test conductor: mass and balance cannot be told now (FWD: no sample yet; AFT: no sample yet)',
      ...['Yaw damping lowered', 'Flow sensor replaced'].flatMap((title) =>
        seats.map((position) => `${position}: notice not acknowledged: ${title}`),
      ),
    ]);
    expect(room.view.poll).toMatchObject({ opened: null, ready: false });
  });

  it('refuses a position for its own, and for what the whole room waits for, in one list', () => {
    room.say('test conductor', 'open poll');
    expect(room.ready('flight control')).toBe(
      'flight control is not ready: no telemetry; flight control: notice not acknowledged: Yaw damping lowered; ' +
        'flight control: notice not acknowledged: Flow sensor replaced',
    );
    room.fly();
    room.say('flight control', 'acknowledge notice', { subject: 'gains' });
    expect(room.ready('flight control')).toBe(
      'flight control is not ready: flight control: notice not acknowledged: Flow sensor replaced',
    );
    room.say('flight control', 'acknowledge notice', { subject: 'flow' });
    expect(room.ready('flight control')).toBe('');
    // others have not acknowledged: the room waits for them, that position does not
    expect(room.ready('test director')).toContain('rotor and loads: notice not acknowledged: Flow sensor replaced');
    expect(room.view.poll.ready).toBe(false);
  });

  it('is gone when everything is done, and then every position and last the director is ready', () => {
    room.makeReady();
    expect(room.missing).toEqual([]);
    expect(room.answers).toEqual(all('ready'));
    expect(room.view.notices.map(({ acknowledged }) => acknowledged.map(({ person }) => person))).toEqual([
      seats.map(idAt),
      seats.map(idAt),
    ]);
  });

  it('holds a stop limit that nobody watches, an open stop call and an open anomaly', () => {
    room.fly();
    room.acknowledgeAll();
    expect(room.say('test conductor', 'assign watch', { subject: 'card-stop' })).toBe('');
    expect(room.view.unwatched).toEqual(['card-stop']);
    expect(room.missing).toEqual(['test director: nobody watches the stop limit card-stop']);
    room.say('test director', 'assign watch', { subject: 'card-stop', choice: 'flight control' });
    expect(room.missing).toEqual([]);
    room.does('flight control', {
      ...{ act: 'stop call', stopClass: 1, word: 'KNOCK IT OFF', reason: 'vibration', caller: '', alarm: '' },
    });
    room.say('rotor and loads', 'open anomaly', { text: 'a knock at 60 kt' });
    expect(room.missing).toEqual(['room: stop call 1 is open', 'room: anomaly 1 is open: a knock at 60 kt']);
    room.say('test conductor', 'open poll');
    expect(room.ready('rotor and loads')).toBe(
      'rotor and loads is not ready: stop call 1 is open; anomaly 1 is open: a knock at 60 kt',
    );
  });

  it('holds the checks the mission plans: none done, the room is not ready', () => {
    const checked = new Room(
      readyMission({
        readiness: {
          notices: [],
          releases: [],
          sweep: {
            channels: [{ parameter: 'LINK', rig: [0, 100], channels: [] }],
            ...{ travel: 0.98, spread: 0.01, tracking: 0.05, missing: 0.02 },
          },
          morning: {
            ...{ gather: SECOND, rateTolerance: 0.02, timeOffset: SECOND, timeDrift: SECOND },
            channels: [{ parameter: 'LINK', zero: 0, zeroTolerance: 1, noise: [0, 1] }],
          },
        },
      }),
    );
    checked.fly();
    expect(checked.missing).toEqual([
      'instrumentation: morning check not complete',
      'instrumentation: recorder not verified',
      'flight control: control sweep not done',
    ]);
    checked.say('test conductor', 'open poll');
    expect(checked.ready('rotor and loads')).toBe('');
    expect(checked.ready('flight control')).toBe('flight control is not ready: flight control: control sweep not done');
    expect(checked.say('flight control', 'begin sweep')).toBe('');
    expect(checked.missing).toContain('flight control: control sweep under way');
  });
});

describe('the poll', () => {
  it('is opened first, has two answers, and not ready says why', () => {
    room.fly();
    room.acknowledgeAll();
    expect(room.ready('flight control')).toBe('no readiness poll is open');
    expect(room.say('flight control', 'open poll')).toContain('flight control may not open poll');
    room.say('test director', 'open poll');
    expect(room.say('flight control', 'answer poll', { choice: 'perhaps' })).toBe(
      'perhaps is no answer: ready or not ready',
    );
    expect(room.say('flight control', 'answer poll', { choice: 'not ready', text: ' ' })).toBe('not ready says why');
    expect(room.say('flight control', 'answer poll', { choice: 'not ready', text: 'one more minute' })).toBe('');
    expect(room.view.poll.answers[2]).toMatchObject({ answer: 'not ready', text: 'one more minute' });
    expect(room.ready('test director')).toBe(
      'the room is not ready: test conductor has not answered ready; flight control is not ready; ' +
        'rotor and loads has not answered ready',
    );
  });

  it('opened again starts anew', () => {
    room.makeReady();
    room.say('test director', 'open poll');
    expect(room.answers).toEqual(all(''));
    expect(room.view.poll.ready).toBe(false);
  });

  it('falls with the room when one position turns to not ready', () => {
    room.makeReady();
    room.say('rotor and loads', 'answer poll', { choice: 'not ready', text: 'strain gauge 3' });
    expect(room.answers).toEqual({ ...all('ready'), 'test director': '', 'rotor and loads': 'not ready' });
    room.ready('rotor and loads');
    expect(room.answers).toEqual({ ...all('ready'), 'test director': '' });
    expect(room.view.poll.ready).toBe(false);
    expect(room.ready('test director')).toBe('');
    expect(room.view.poll.ready).toBe(true);
  });
});

describe('an answer falls, and is asked for again,', () => {
  it('when a load is changed so that the envelope is left, though it is changed back', () => {
    room.makeReady();
    const heavier = { subject: 'empty', value: 1500, text: 'ballast' };
    expect(room.say('test conductor', 'set load', heavier)).toBe('');
    expect(room.missing[0]).toMatch(
      /^test conductor: mass and balance outside the test envelope now: 1785 kg at 2\.\d{3} m/,
    );
    expect(room.answers).toEqual({ ...all('ready'), 'test director': '', 'test conductor': '' });
    expect(room.view.poll.answers[1]?.text).toContain('no longer ready: mass and balance outside');
    expect(room.say('test conductor', 'set load', { ...heavier, value: 1285 })).toBe('');
    expect(room.missing).toEqual([]);
    expect(room.answers).toEqual({ ...all('ready'), 'test director': '', 'test conductor': '' });
    expect(room.ready('test director')).toBe('the room is not ready: test conductor has not answered ready');
  });

  it('not when a load is changed and everything is still inside', () => {
    room.makeReady();
    expect(room.say('test conductor', 'set load', { subject: 'pilot', value: 90, text: 'other pilot' })).toBe('');
    expect(room.view.weight?.loads[1]).toMatchObject({ massKg: 90, changedBy: 'test-conductor' });
    expect(room.view.poll.ready).toBe(true);
  });

  it('when one sample of a tank is outside', () => {
    room.makeReady();
    room.fly({ ...fuelled, forward: 0, aft: 99 }, 1);
    expect(room.view.poll.ready).toBe(false);
    room.fly(fuelled, 2);
    expect(room.missing).toEqual([]);
    expect(room.answers).toEqual({ ...all('ready'), 'test director': '', 'test conductor': '' });
  });

  it('when the link is silent for a second, not for less', () => {
    room.makeReady();
    room.silence(0.3);
    room.fly();
    expect(room.view.poll.ready).toBe(true);
    room.silence(1.2);
    room.fly();
    expect(room.missing).toEqual([]);
    expect(room.answers).toEqual(all(''));
    expect(room.view.poll.answers[2]?.text).toBe('no longer ready: no telemetry for 1 s');
  });

  it('when a stop is called, an anomaly opened, or a stop limit left alone', () => {
    const acts: [string, Action, number][] = [
      [
        'rotor and loads',
        { act: 'stop call', stopClass: 1, word: 'KNOCK IT OFF', reason: 'r', caller: '', alarm: '' },
        0,
      ],
      ['flight control', say('open anomaly', { text: 'a knock' }), 0],
      ['test conductor', say('assign watch', { subject: 'card-stop' }), 3],
    ];
    for (const [position, action, left] of acts) {
      room = new Room();
      room.makeReady();
      expect(room.does(position, action)).toBe('');
      expect(Object.values(room.answers).filter((answer) => answer === 'ready')).toHaveLength(left);
      expect(room.answers['test director']).toBe('');
      expect(room.view.poll.ready).toBe(false);
    }
  });
});

describe('the watch', () => {
  it('begins with each limit at its watcher, and is handed over by who watches now or by the director', () => {
    expect(room.view.watch).toEqual([
      { position: 'test director', limits: [] },
      { position: 'test conductor', limits: ['card-stop'] },
      { position: 'flight control', limits: ['mast'] },
      { position: 'rotor and loads', limits: ['pitch-link'] },
    ]);
    const give = (by: string, subject: string, choice: string) => room.say(by, 'assign watch', { subject, choice });
    expect(give('flight control', 'pitch-link', 'flight control')).toBe(
      'flight control may not assign watch; test director, rotor and loads may',
    );
    expect(give('rotor and loads', 'pitch-link', 'flight control')).toBe('');
    expect(give('rotor and loads', 'pitch-link', 'rotor and loads')).toContain('rotor and loads may not assign watch');
    expect(give('test director', 'pitch-link', 'engine')).toBe('nobody sits at engine');
    expect(give('test director', 'pitch-link', 'pilot')).toBe('pilot is not a position');
    expect(give('test director', 'no-limit', 'flight control')).toBe('there is no limit no-limit');
    expect(give('flight control', 'pitch-link', 'flight control')).toBe('flight control watches pitch-link already');
    expect(room.view.watch[2]).toEqual({ position: 'flight control', limits: ['pitch-link', 'mast'] });
  });

  it('refuses a fifth limit at one position', () => {
    const limits = ['a', 'b', 'c', 'd', 'e'].map((id) => ({ ...(linkLimits(1)[1] as object), id }) as never);
    const readiness = {
      ...{ notices: [], releases: [] },
      watch: [{ position: 'flight control' as const, limits: ['a', 'b', 'c', 'd'] }],
    };
    room = new Room(readyMission({ limits, readiness }));
    const fifth = () => room.say('test director', 'assign watch', { subject: 'e', choice: 'flight control' });
    expect(fifth()).toBe('flight control watches 4 limits already (a, b, c, d), and 4 are the most for one position');
    room.say('flight control', 'assign watch', { subject: 'b', choice: 'test director' });
    expect(fifth()).toBe('');
    expect(room.view.watch.map(({ limits: ids }) => ids)).toEqual([['b'], [], ['a', 'c', 'd', 'e'], []]);
  });
});

describe('scenario 12, the wrong baseline', () => {
  const newer = linkLimits(1800);
  const release = {
    ...{ softwareId: 'S2', configurationId: 'C1', baselineId: 'ab'.repeat(32) },
    limits: limitValues([
      ...newer,
      ...linkLimits(1)
        .slice(0, 1)
        .map((one) => ({ ...one, id: 'yoke' })),
    ]),
  };
  const old = () => readyMission({ readiness: { notices: [], weight, releases: [release] } });
  const change = (warning: number): Action => ({
    act: 'change limit',
    limit: 'pitch-link',
    values: { above: { warning }, persistence: 0, hysteresis: 0 },
    ...{ reason: 'newer software', pilotInformed: true, offCondition: true },
  });

  it('refuses ready, with what differs limit by limit, from the first frame on', () => {
    room = new Room(old());
    room.fly({ ...fuelled, softwareId: 'S2' }, 1);
    expect(room.view.ids).toEqual({
      ...{ match: false, softwareId: 'S2', configurationId: 'C1' },
      differences: [
        'software id: the aircraft sends S2, this pack is for S1',
        'baseline tiny is in force; the release for S2 / C1 is abababab',
        'pitch-link above warning: this pack has 2000, the release for S2 / C1 has 1800',
        'yoke: not in this pack, but in the release for S2 / C1',
      ],
    });
    room.say('test director', 'open poll');
    const why =
      "the aircraft's ids are not those of this pack: software id: the aircraft sends S2, this pack is for S1, " +
      'and 3 more differences';
    for (const position of seats.slice(1)) expect(room.ready(position)).toBe(`${position} is not ready: ${why}`);
    expect(room.ready('test director')).toContain(why);
    expect(room.view.poll.ready).toBe(false);
  });

  it('lets one person tighten, and nobody loosen alone; every attempt has its answer', () => {
    room = new Room(old());
    room.fly({ ...fuelled, softwareId: 'S2' });
    const tries: [string, Action, RegExp][] = [
      ['rotor and loads', change(1800), /^$/],
      ['rotor and loads', change(2200), /^$/],
      ['rotor and loads', { act: 'approve change', change: 2, pilotInformed: true, offCondition: true, note: '' }, /./],
      ['test director', say('open poll'), /^$/],
      ['rotor and loads', say('answer poll', { choice: 'ready' }), /not ready/],
    ];
    for (const [position, action, told] of tries) expect(room.does(position, action)).toMatch(told);
    expect(room.pipeline.room().changes.map(({ state }) => state)).toEqual(['in force', 'proposed']);
  });

  it('is over when the pack that belongs to the aircraft is put in force, and everybody is asked anew', () => {
    room = new Room(old());
    room.makeReadyWithoutNotices();
    room.fly({ ...fuelled, softwareId: 'S2' });
    expect(room.view.poll.ready).toBe(false);
    const right = readyMission({
      baselineId: 'right',
      aircraft: { name: 'Tiny', softwareId: 'S2', configurationId: 'C1' },
      limits: newer,
      readiness: { notices: [], weight, releases: [] },
    });
    room.step(room.log.configure(right));
    room.fly({ ...fuelled, softwareId: 'S2' });
    expect(room.view.ids).toMatchObject({ match: true, differences: [] });
    expect(room.missing).toEqual([]);
    expect(room.view.poll).toMatchObject({ opened: null, ready: false });
    expect(room.answers).toEqual(all(''));
  });

  it('is told as well when another pack than the released one is in force for the same ids', () => {
    const changed = { ...release, softwareId: 'S1' };
    room = new Room(readyMission({ readiness: { notices: [], weight, releases: [changed] } }));
    room.fly();
    expect(room.view.ids.match).toBe(true);
    expect(room.missing).toEqual([
      'room: not the released pack: baseline tiny is in force; the release for S1 / C1 is abababab, and 2 more differences',
    ]);
    const same = { ...changed, baselineId: 'tiny' };
    room = new Room(readyMission({ readiness: { notices: [], weight, releases: [same] } }));
    room.fly();
    expect(room.missing).toEqual([]);
  });
});

describe('what takes answers away for good, though it passes by itself', () => {
  it('is an id of another pack: every position is asked again', () => {
    room.makeReady();
    room.fly({ ...fuelled, softwareId: 'S2' }, 1);
    room.fly();
    expect(room.missing).toEqual([]);
    expect(room.answers).toEqual(all(''));
    expect(room.view.poll.answers[0]?.text).toBe("no longer ready: the aircraft sent ids that are not this pack's");
  });

  it('is a rate group of the tanks that falls silent while others go on: who minds the load, and the director', () => {
    const one = readyMission();
    const two = readyMission({
      groups: [...one.groups, group('other', 10)],
      parameters: [...one.parameters, parameter('other', 'other')],
    });
    const made = new Room(two);
    made.makeReady();
    made.fly({ ...fuelled, instead: 'other' }, 4);
    expect(made.answers).toEqual(all('ready'));
    made.fly({ ...fuelled, instead: 'other' }, 4);
    made.fly();
    expect(made.missing).toEqual([]);
    expect(made.answers).toEqual({ ...all('ready'), 'test conductor': '', 'test director': '' });
  });
});
