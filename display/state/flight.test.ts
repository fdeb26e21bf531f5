import { describe, expect, it } from 'vitest';
import type { Mission } from '../../protocol/mission.ts';
import { Validity } from '../../protocol/validity.ts';
import { Flight, NOT_RENEWED, SILENT_AFTER } from './flight.ts';
import { subscriptionOf } from './subscription.ts';
import { Trace, TRACE_BUCKETS } from './trace.ts';

const mission: Mission = {
  baselineId: 'b',
  name: '',
  stream: 'S',
  aircraft: { name: '', softwareId: '', configurationId: '' },
  receivers: [],
  people: [],
  words: { class1: [], class2: [] },
  groups: [{ id: 'main', rate: 100, staleAfter: 500_000 }],
  parameters: ['NR', 'TQ', 'GOVERNED'].map((id) => ({
    id,
    name: id,
    unit: '%',
    group: 'main',
    format: 'i16' as const,
    calibration: { kind: 'polynomial' as const, coefficients: [0, 1] },
  })),
  derived: [{ id: 'POWER', name: 'Power', unit: 'kW', drivenBy: 'NR', formula: 'NR * TQ' }],
  limits: [
    {
      id: 'nr-low',
      kind: 'level',
      parameter: 'NR',
      below: { warning: 95 },
      persistence: 0,
      hysteresis: 0,
      while: 'GOVERNED',
      firstAction: '',
      watcher: '',
      source: '',
    },
  ],
  pages: [],
};

const flightWith = (): Flight => {
  const flight = new Flight();
  flight.setMission(mission);
  flight.setLink('open', 0);
  return flight;
};

const bytes = (values: number[]): Uint8Array => new Uint8Array(new Float32Array(values).buffer);

describe('flight', () => {
  it('shows nothing as received before anything was', () => {
    const flight = flightWith();
    expect(flight.reading(0, 0)).toMatchObject({ kind: 'absent', word: 'NO SAMPLE' });
  });

  it('keeps the newest value, and its age goes on growing between updates', () => {
    const flight = flightWith();
    flight.applyUpdate({ latest: [{ column: 1, value: 68.5, validity: 0, ageUs: 40_000 }] }, 1000);
    expect(flight.reading(1, 1100)).toMatchObject({ kind: 'good', text: '68.5' });
    expect(flight.reading(1, 1100).ageS).toBeCloseTo(0.14, 9);
  });

  it('opened while the aircraft is silent, knows how long it has been, whichever message comes first', () => {
    const room = { groundUs: 100e6, aircraftUs: 58e6, stream: { state: 'silent', ageUs: 42e6 } };
    const update = { groundUs: 100e6, aircraftUs: 58e6 };
    const roomFirst = flightWith();
    roomFirst.applyRoom(room, 0);
    roomFirst.applyUpdate(update, 0);
    const updateFirst = flightWith();
    updateFirst.applyUpdate(update, 0);
    updateFirst.applyRoom(room, 0);
    for (const flight of [roomFirst, updateFirst]) {
      expect(flight.ground - flight.groundOfAircraft).toBe(42e6);
      // the edge of the charts stands 42 s after the newest sample
      expect(flight.edgeBucket() * flight.bucketUs).toBeCloseTo(100e6, 0);
      flight.applyUpdate({ groundUs: 101e6, aircraftUs: 59e6 }, 1000);
      expect(flight.ground - flight.groundOfAircraft).toBe(0);
    }
  });

  it('lets both clocks run on from what was heard last; unknown before anything was', () => {
    const flight = flightWith();
    expect(flight.timesNow(500)).toEqual({ aircraft: 0, ground: 0 });
    flight.applyUpdate({ groundUs: 100e6, aircraftUs: 58e6 }, 1000);
    expect(flight.timesNow(3500)).toEqual({ aircraft: 60.5e6, ground: 102.5e6 });
  });

  it('takes the instant of a mark between two updates to the millisecond, whatever else is heard, and no later than can be', () => {
    const flight = new Flight();
    expect(flight.aircraftAt(500)).toBe(0);
    flight.applyUpdate({ groundUs: 100e6, aircraftUs: 58e6 }, 1000);
    // told at this moment, but it says nothing of time
    flight.applyConduct({ json: new TextEncoder().encode('null') }, 1080);
    expect(flight.aircraftAt(1100)).toBe(58.1e6);
    expect(flight.aircraftAt(9000)).toBe(58.5e6);
  });

  it('calls a value old that no update renews, though the station is heard all the time', () => {
    const flight = flightWith();
    flight.applyUpdate({ latest: [{ column: 1, value: 68.5, validity: 0, ageUs: 40_000 }] }, 1000);
    flight.applyRoom({ groundUs: 100e6 }, 1000 + NOT_RENEWED);
    expect(flight.reading(1, 1000 + NOT_RENEWED).word).toBe('');
    flight.applyRoom({ groundUs: 101e6 }, 1001 + NOT_RENEWED);
    expect(flight.reading(1, 1001 + NOT_RENEWED)).toMatchObject({ kind: 'unusable', word: 'OLD' });
    flight.applyUpdate({ latest: [{ column: 1, value: 69, validity: 0, ageUs: 40_000 }] }, 1002 + NOT_RENEWED);
    expect(flight.reading(1, 1002 + NOT_RENEWED).kind).toBe('good');
  });

  it('takes a column number of 0, which the wire leaves out', () => {
    const flight = flightWith();
    flight.applyUpdate({ latest: [{ value: 99 }] }, 0);
    expect(flight.reading(0, 0).text).toBe('99.0');
  });

  it('ignores columns and traces that do not fit the mission', () => {
    const flight = flightWith();
    flight.applyUpdate(
      {
        buckets: 2,
        traces: [{ column: 0, low: bytes([1]), high: bytes([1, 2]), validity: new Uint8Array(2) }, { column: 99 }],
        latest: [{ column: 99, value: 1 }],
      },
      0,
    );
    expect(flight.traces[0]).toBeUndefined();
  });

  it('makes every value old once the station has been silent for half a second, and good again when it speaks', () => {
    const flight = flightWith();
    let told = 0;
    flight.listen('link', () => {
      told += 1;
    });
    flight.applyUpdate({ latest: [{ column: 0, value: 100, validity: 0, ageUs: 0 }] }, 1000);
    flight.listenFor(1000 + SILENT_AFTER);
    expect(flight.reading(0, 1500).kind).toBe('good');
    const before = told;
    expect(flight.listenFor(1001 + SILENT_AFTER)).toBe(true);
    expect(told).toBe(before + 1);
    expect(flight.reading(0, 1501)).toMatchObject({ kind: 'unusable', word: 'OLD' });
    flight.applyRoom({}, 2000);
    expect(flight.reading(0, 2000).kind).toBe('good');
  });

  it('throws away what it holds of another epoch', () => {
    const flight = flightWith();
    const trace = { column: 0, low: bytes([1, 2]), high: bytes([3, 4]), validity: new Uint8Array(2) };
    flight.applyUpdate({ epoch: 1, firstBucket: 500, buckets: 2, traces: [trace] }, 0);
    expect(flight.traces[0]?.end).toBe(502);
    flight.applyUpdate({ epoch: 2, firstBucket: 3, buckets: 2, traces: [trace] }, 0);
    expect([flight.traces[0]?.begin, flight.traces[0]?.end]).toEqual([3, 5]);
  });

  it('moves the edge of its charts on with ground time while no sample comes', () => {
    const flight = flightWith();
    const at = { epoch: 1, epochUs: 0, bucketUs: 40_000 };
    flight.applyUpdate({ ...at, aircraftUs: 4_000_000, groundUs: 9_000_000 }, 0);
    expect(flight.edgeBucket()).toBe(100);
    flight.applyUpdate({ ...at, aircraftUs: 4_000_000, groundUs: 10_000_000 }, 0);
    expect(flight.edgeBucket()).toBe(125);
    flight.applyUpdate({ ...at, aircraftUs: 5_200_000, groundUs: 10_200_000 }, 0);
    expect(flight.edgeBucket()).toBe(130);
  });

  it('forgets values that are no longer subscribed, so that none can stand there unrenewed', () => {
    const flight = flightWith();
    const latest = [0, 1].map((column) => ({ column, value: 50, validity: 0, ageUs: 0 }));
    flight.applyUpdate({ latest }, 0);
    flight.keepOnly(new Set([1]));
    expect(flight.reading(0, 0).kind).toBe('absent');
    expect(flight.reading(1, 0).kind).toBe('good');
  });

  it('takes a limit for in force unless its condition is known to be zero', () => {
    const flight = flightWith();
    const limit = mission.limits[0] as (typeof mission.limits)[number];
    expect(flight.inForce(limit)).toBe(true);
    const governed = (value: number, validity: number) =>
      flight.applyUpdate({ latest: [{ column: 2, value, validity, ageUs: 0 }] }, 0);
    governed(0, 0);
    expect(flight.inForce(limit)).toBe(false);
    governed(1, 0);
    expect(flight.inForce(limit)).toBe(true);
    governed(0, Validity.stale);
    expect(flight.inForce(limit)).toBe(true);
  });

  it('asks for buckets of charts, for the latest of the rest, and for what puts their limits in force', () => {
    const flight = flightWith();
    const page = {
      id: 'p',
      title: '',
      positions: [],
      rows: [
        {
          height: 1,
          elements: [
            { kind: 'strip chart' as const, parameters: ['NR'], span: 300 },
            { kind: 'number' as const, parameters: ['NR', 'POWER', 'NOT_THERE'] },
          ],
        },
      ],
    };
    expect(subscriptionOf(page, flight.columnOf, flight.columns)).toEqual({
      columns: [0],
      latestColumns: [2, 3],
      rateHz: 25,
      historyS: 120,
      limits: false,
    });
  });
});

describe('trace', () => {
  const write = (trace: Trace, first: number, values: number[]) => {
    const column = new Float32Array(values);
    trace.write(first, values.length, column, column, new Uint8Array(values.length));
  };
  const held = (trace: Trace) =>
    Array.from({ length: trace.end - trace.begin }, (_, i) => trace.low[(trace.begin + i) & trace.mask]);

  it('replaces a bucket that is sent again while it fills', () => {
    const trace = new Trace();
    write(trace, 10, [1, 2, 3]);
    write(trace, 12, [9, 4]);
    expect(held(trace)).toEqual([1, 2, 9, 4]);
  });

  it('keeps buckets that were never sent as buckets without a sample', () => {
    const trace = new Trace();
    write(trace, 10, [1]);
    write(trace, 13, [2]);
    expect(held(trace)).toEqual([1, Number.NaN, Number.NaN, 2]);
    expect(trace.validity[11]).toBe(Validity.none);
  });

  it('holds the newest when more comes than it has room for, also after a long silence', () => {
    const trace = new Trace();
    write(trace, 0, [1, 2]);
    write(trace, TRACE_BUCKETS - 1, [3, 4]);
    expect([trace.begin, trace.end]).toEqual([1, TRACE_BUCKETS + 1]);
    write(trace, 3 * TRACE_BUCKETS, [7]);
    expect(held(trace)).toEqual([7]);
  });

  it('lays changes in force over the limits that instruments mark, and counts them', () => {
    const flight = flightWith();
    const change = (state: string, value: number) => ({
      number: 1,
      limit: 'nr-low',
      state,
      baselineId: 'b',
      after: { levels: [{ side: 'below', level: 'warning', value }], persistenceUs: 0, hysteresis: 0 },
    });
    flight.applyRoom({ changes: [change('proposed', 90)] }, 1);
    expect(flight.columns[0]?.limits[0]?.below?.warning).toBe(95);
    expect(flight.changesInForce).toBe(0);
    flight.applyRoom({ changes: [change('in force', 96)] }, 2);
    expect(flight.columns[0]?.limits[0]?.below?.warning).toBe(96);
    expect(flight.limit('nr-low')?.below?.warning).toBe(96);
    expect(flight.changesInForce).toBe(1);
    // another baseline is another count
    flight.setMission({ ...mission, baselineId: 'c' });
    expect(flight.columns[0]?.limits[0]?.below?.warning).toBe(95);
  });

  it('takes a limit for in force in the phases it names, and in every phase that is not known', () => {
    const flight = flightWith();
    const [limit] = mission.limits;
    if (!limit) throw new Error('no limit');
    const phases = {
      parameter: 'P',
      phases: ['start', 'hover'].map((id) => ({ id, name: id, transitions: [] })),
      hold: 0,
    };
    flight.setMission({ ...mission, phases });
    const hovering = { ...limit, phases: ['hover'] };
    expect(flight.inForce(hovering)).toBe(true);
    flight.applyRoom({ phase: 'start' }, 1);
    expect(flight.inForce(hovering)).toBe(false);
    flight.applyRoom({ phase: 'hover' }, 2);
    expect(flight.inForce(hovering)).toBe(true);
    const byPhase = { ...limit, byPhase: { hover: { above: { caution: 1 } } } };
    expect(flight.levelsNow(byPhase)).toEqual({ above: { caution: 1 } });
  });

  it('keeps what the limits say only while it fits the mission', () => {
    const flight = flightWith();
    const told = { conditions: Uint8Array.of(2), levels: Uint8Array.of(3), values: bytes([94]), next: bytes([95]) };
    flight.applyLimits(told, 5);
    expect(flight.limitReadings).toMatchObject({ at: 5 });
    flight.applyLimits({ ...told, levels: Uint8Array.of(3, 3) }, 6);
    expect(flight.limitReadings).toBeUndefined();
  });
});
