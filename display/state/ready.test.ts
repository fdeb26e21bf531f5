import { describe, expect, it } from 'vitest';
import type { ChannelResult, MorningView, ReadinessView, SweepView } from '../../protocol/conduct.ts';
import type { Mission } from '../../protocol/mission.ts';
import type { ChannelCheck } from '../../protocol/readiness.ts';
import {
  channelState,
  foldMissing,
  idsLine,
  isAsked,
  missingGroups,
  morningLine,
  nextGather,
  noticesLine,
  refusalList,
  sweepLine,
  watchersOf,
  watchLine,
  weightLine,
} from './ready.ts';

const check = (parameter: string, shunt?: number): ChannelCheck => ({
  ...{ parameter, zero: 0, zeroTolerance: 1, noise: [0, 1] },
  ...(shunt === undefined ? {} : { shunt, shuntTolerance: 1 }),
});
const channel = (parameter: string, more: Partial<ChannelResult> = {}): ChannelResult => ({
  ...{ parameter, zero: null, noise: null, shunt: null, rate: null, faults: [], cannotTell: [], looked: [] },
  ...more,
});
const all: ChannelResult['looked'] = ['zero', 'shunt', 'rate', 'range'];
const morning = (channels: ChannelResult[], more: Partial<MorningView> = {}): MorningView => ({
  ...{
    gathering: '',
    channels,
    time: { offset: 0, drift: 0 },
    timeFaults: [],
    complete: false,
    ended: null,
    faults: 0,
  },
  recorder: { state: 'verified', text: '' },
  ...more,
});
const sweep: SweepView = { running: false, done: false, faults: 0, channels: [] };
const view = (more: Partial<ReadinessView> = {}): ReadinessView => ({
  ...{ notices: [], watch: [], unwatched: [], morning: null, sweep: null, weight: null, missing: [] },
  ids: { match: true, softwareId: 'A', configurationId: 'B', differences: [] },
  poll: { opened: null, answers: [], ready: false },
  ...more,
});
const planned = (readiness: Partial<NonNullable<Mission['readiness']>>): Mission =>
  ({
    people: [
      { id: 'tc', name: 'T', position: 'test conductor' },
      { id: 'en', name: 'E', position: 'engine' },
    ],
    readiness: { notices: [], releases: [], ...readiness },
  }) as unknown as Mission;
const checks = [check('A', 900), check('B', 900), check('C')];
const withMorning = planned({ morning: { channels: checks } as never });

describe('what is missing', () => {
  it('comes mine first, then what the whole room waits for, then by the role table; nobody has nothing of his own', () => {
    const missing = [
      { position: 'engine', text: 'a' },
      { position: '', text: 'b' },
      { position: 'test director', text: 'c' },
      { position: 'engine', text: 'd' },
    ] as const;
    expect(missingGroups(missing, 'engine')).toEqual([
      { position: 'engine', mine: true, texts: ['a', 'd'] },
      { position: '', mine: false, texts: ['b'] },
      { position: 'test director', mine: false, texts: ['c'] },
    ]);
    expect(missingGroups(missing, '').map(({ mine, position }) => [position, mine])).toEqual([
      ['', false],
      ['test director', false],
      ['engine', false],
    ]);
  });

  it('of many positions in the same words is told once, with all of them; nothing is lost and nothing told twice', () => {
    const missing = [
      { position: 'engine', text: 'notice X' },
      { position: 'range safety', text: 'notice X' },
      { position: 'range safety', text: 'notice X' },
      { position: 'engine', text: 'check' },
      { position: 'flight control', text: 'notice X' },
      { position: 'flight control', text: 'notice Y' },
    ] as const;
    expect(foldMissing(missingGroups(missing, 'test director'))).toEqual({
      shared: [{ text: 'notice X', positions: ['flight control', 'engine', 'range safety'] }],
      groups: [
        { position: 'flight control', mine: false, texts: ['notice Y'] },
        { position: 'engine', mine: false, texts: ['check'] },
      ],
    });
    // twice of one position alone is no matter of many
    const twice = [{ position: 'engine', mine: false, texts: ['a', 'a'] }] as const;
    expect(foldMissing(twice.map((one) => ({ ...one, texts: [...one.texts] })))).toEqual({
      shared: [],
      groups: [{ position: 'engine', mine: false, texts: ['a', 'a'] }],
    });
  });

  it('of a refusal is cut at its semicolons, but not within brackets; one reason stays whole', () => {
    expect(refusalList('engine is not ready: a (x; y); b: c')).toEqual({
      head: 'engine is not ready',
      items: ['a (x; y)', 'b: c'],
    });
    // in the same words of many positions: once, with all of them
    expect(
      refusalList('the room is not ready: engine: x not read; range safety: x not read; engine: y; z').items,
    ).toEqual(['engine: x not read (and of range safety)', 'engine: y', 'z']);
    expect(refusalList('not ready says why')).toEqual({ head: 'not ready says why', items: [] });
    expect(refusalList('engine is not ready: no telemetry')).toEqual({
      head: 'engine is not ready: no telemetry',
      items: [],
    });
  });
});

describe('the poll', () => {
  it('asks a position while one is open and it has not answered, or its answer fell', () => {
    const of = (answer: '' | 'ready', opened: boolean, gates: string[] = []) => ({
      points: gates.map((gate) => ({ gate })),
      readiness: view({
        poll: {
          opened: opened ? { person: 'td', position: 'test director', aircraft: 1, ground: 1 } : null,
          answers: [{ position: 'engine', answer, text: '', person: '', ground: 0 }],
          ready: false,
        },
      }),
    });
    expect(isAsked(of('', true) as never, 'engine')).toBe(true);
    expect(isAsked(of('ready', true) as never, 'engine')).toBe(false);
    expect(isAsked(of('', false) as never, 'engine')).toBe(false);
    expect(isAsked(of('', true) as never, 'range safety')).toBe(false);
    expect(isAsked(undefined, 'engine')).toBe(false);
    // there is no time for it while a point is flown
    expect(isAsked(of('', true, ['closed', 'manoeuvre']) as never, 'engine')).toBe(false);
    expect(isAsked(of('', true, ['closed']) as never, 'engine')).toBe(true);
  });
});

describe('the morning check', () => {
  it('gathers zero first, then each shunt whose channel has a zero, in the order of the plan; then nothing', () => {
    expect(nextGather(morning([channel('A'), channel('B'), channel('C')]), checks)).toEqual({
      choice: 'zero',
      subject: '',
    });
    const zeroed = [
      channel('A', { looked: all }),
      channel('B', { looked: ['zero', 'rate', 'range'] }),
      channel('C', { looked: ['zero', 'rate', 'range'] }),
    ];
    expect(nextGather(morning(zeroed), checks)).toEqual({ choice: 'shunt', subject: 'B' });
    const blind = [channel('A', { looked: all }), channel('B', { cannotTell: ['no zero'] }), channel('C')];
    expect(nextGather(morning(blind), checks)).toBeUndefined();
  });

  it('says of a channel the worst that is known', () => {
    const shunted = check('A', 900);
    expect(channelState(channel('A', { looked: all }), shunted)).toBe('done');
    expect(channelState(channel('A', { looked: ['zero', 'rate', 'range'] }), shunted)).toBe('to do');
    expect(channelState(channel('A', { looked: ['zero', 'rate', 'range'] }), check('A'))).toBe('done');
    expect(channelState(channel('A', { looked: all, cannotTell: ['x'] }), shunted)).toBe('cannot tell');
    expect(channelState(channel('A', { looked: all, cannotTell: ['x'], faults: ['y'] }), shunted)).toBe('fault');
  });

  it('is done when all was looked at, the recorder verified and a person ended it; a fault goes before all', () => {
    const ended = { person: 'in', position: 'instrumentation', aircraft: 1, ground: 1 };
    const full = [
      channel('A', { looked: all }),
      channel('B', { looked: all }),
      channel('C', { looked: ['zero', 'rate', 'range'] }),
    ];
    const state = (more: Partial<MorningView>, channels = full) =>
      morningLine(withMorning, view({ morning: morning(channels, more) })).state;
    expect(state({ complete: true, ended })).toBe('done');
    expect(state({ complete: true })).toBe('to do');
    expect(state({ complete: false, ended })).toBe('to do');
    expect(state({ complete: true, ended, recorder: { state: 'not looked at', text: '' } })).toBe('to do');
    expect(state({ complete: true, ended, recorder: { state: 'trouble', text: 'a byte differs' } })).toBe('fault');
    expect(state({ complete: true, ended, faults: 1 })).toBe('fault');
    expect(state({ complete: true, ended }, [...full.slice(0, 2), channel('C', { cannotTell: ['x'] })])).toBe(
      'cannot tell',
    );
    expect(state({ gathering: 'zero' })).toBe('under way');
    expect(morningLine(withMorning, view()).state).toBe('cannot tell');
    expect(morningLine(planned({}), view()).state).toBe('none');
  });
});

describe('the other parts', () => {
  it('a sweep that could not tell something is never done', () => {
    const mission = planned({ sweep: { channels: [] } as never });
    const blind = { parameter: 'A', faults: [], cannotTell: ['no sample came'] } as never;
    expect(sweepLine(mission, view({ sweep })).state).toBe('to do');
    expect(sweepLine(mission, view({ sweep: { ...sweep, done: true } })).state).toBe('done');
    expect(sweepLine(mission, view({ sweep: { ...sweep, channels: [blind] } })).state).toBe('cannot tell');
    expect(sweepLine(mission, view({ sweep: { ...sweep, running: true, faults: 1 } })).state).toBe('under way');
    expect(sweepLine(mission, view())).toMatchObject({ state: 'cannot tell' });
  });

  it('a balance outside anywhere is said by its name; one that cannot be told is not inside', () => {
    const mission = planned({ weight: {} as never });
    const one = (name: string, state: string) => ({ name, state });
    const of = (now: string, ...planned_: string[]) =>
      weightLine(
        mission,
        view({ weight: { now: one('Now', now), planned: planned_.map((state, i) => one(`S${i}`, state)) } as never }),
      );
    expect(of('inside', 'inside').state).toBe('done');
    expect(of('outside', 'inside', 'outside')).toMatchObject({
      state: 'fault',
      line: 'outside the test envelope: now, S1',
    });
    expect(of('cannot tell', 'inside').state).toBe('cannot tell');
    expect(of('cannot tell', 'outside').state).toBe('fault');
  });

  it('ids that were not heard yet cannot be told, and differences are a fault', () => {
    const ids = view().ids;
    expect(idsLine(view()).state).toBe('done');
    expect(idsLine(view({ ids: { ...ids, match: false } })).state).toBe('cannot tell');
    expect(idsLine(view({ ids: { ...ids, differences: ['x'] } })).state).toBe('fault');
    expect(idsLine(null).state).toBe('cannot tell');
  });

  it('a notice is done when every manned position has acknowledged it', () => {
    const mission = planned({ notices: [{ id: 'n', title: 'N', text: 'T' }] });
    const by = (...who: string[]) =>
      view({ notices: [{ id: 'n', acknowledged: who.map((position) => ({ person: 'p', position, ground: 1 })) }] });
    expect(noticesLine(mission, by(), 'engine').line).toBe(
      'you have 1 of 1 to read; still to acknowledge: test conductor',
    );
    expect(noticesLine(mission, by('engine'), 'engine').line).toBe('still to acknowledge: test conductor');
    expect(noticesLine(mission, by('engine', 'test conductor'), 'engine').state).toBe('done');
  });

  it('a stop limit that nobody watches is named', () => {
    expect(watchLine(view({ unwatched: ['a', 'b'] }))).toMatchObject({
      state: 'fault',
      line: 'nobody watches the stop limits a, b',
    });
    const watch = [{ position: 'engine' as const, limits: ['tot', 'tq'] }];
    expect(watchLine(view({ watch })).line).toBe("2 limits watched by 1 position; every stop limit is somebody's");
    expect([...watchersOf(watch)]).toEqual([
      ['tot', 'engine'],
      ['tq', 'engine'],
    ]);
  });
});
