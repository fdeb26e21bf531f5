import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { LatestView, Outputs } from '../../protocol/fold.ts';
import {
  decodeToDisplay,
  encodeToDisplay,
  type WireLatest,
  type WireTrace,
  type WireUpdate,
} from '../../protocol/wire.ts';
import { BUCKET, HISTORY, History } from './history.ts';
import { Publish, publishCaps, type Screen } from './publish.ts';
import { UpdateWriter } from './update-bytes.ts';

const start = 1_800_000_000_000_000;

function latestOf(columns: number): LatestView {
  return {
    value: new Float64Array(columns).fill(Number.NaN),
    validity: new Uint8Array(columns).fill(17),
    aircraft: new Float64Array(columns),
    ground: new Float64Array(columns),
  };
}

type Filled<T> = { [K in keyof T]-?: NonNullable<T[K]> };
type Update = Filled<WireUpdate> & { traces: Filled<WireTrace>[]; latest: Filled<WireLatest>[] };

class Display implements Screen {
  bufferedAmount = 0;
  messages: Uint8Array[] = [];
  send(message: Uint8Array) {
    this.messages.push(message);
  }
  updates() {
    return this.messages.flatMap((message) => (decodeToDisplay(message).update as Update | null) ?? []);
  }
  last() {
    return this.updates().at(-1)!;
  }
}

/** A publisher of `columns` columns, all of one group; every `step` brings one sample to each and 20 ms. */
function publishing(columns = 4) {
  const clock = { ms: 1000, us: start };
  const publish = new Publish(() => clock.ms);
  publish.begin(columns);
  const latest = latestOf(columns);
  const moment = () => ({ groundUs: clock.us + 5000, aircraftUs: clock.us, latest });
  const feed = (value: number, discontinuity = -1) => {
    const numbers = Array.from({ length: columns }, (_, i) => i);
    const outputs: Outputs = {
      batches: [
        {
          group: 0,
          length: 1,
          time: Float64Array.of(clock.us),
          columns: numbers,
          received: columns,
          values: numbers.map(() => Float64Array.of(value)),
          validity: numbers.map(() => Uint8Array.of(0)),
          low: new Float64Array(columns).fill(value),
          high: new Float64Array(columns).fill(value),
          worst: new Uint8Array(columns),
        },
      ],
      frames: { length: 0, aircraft: new Float64Array(0), ground: new Float64Array(0), taken: new Float64Array(0) },
      alarms: [],
      roomChanged: false,
      results: [],
      discontinuity,
    };
    latest.value.fill(value);
    latest.validity.fill(0);
    latest.ground.fill(clock.us + 5000);
    publish.take(outputs);
  };
  const step = (value: number) => {
    clock.ms += 20;
    clock.us += 20_000;
    feed(value);
    publish.pulse(moment());
  };
  const wait = (ms: number) => {
    clock.ms += ms;
    clock.us += ms * 1000;
    publish.pulse(moment());
  };
  return { clock, publish, latest, step, wait, feed, moment };
}

const floats = (bytes: Uint8Array) => [...new Float32Array(new Uint8Array(bytes).buffer)];

it('the writer of updates says what the generated code would say', () => {
  fc.assert(
    fc.property(
      fc.record({
        columns: fc.array(fc.integer({ min: 0, max: 299 }), { maxLength: 8 }),
        latestColumns: fc.array(fc.integer({ min: 0, max: 299 }), { maxLength: 8 }),
        first: fc.integer({ min: 0, max: 100_000 }),
        buckets: fc.oneof(fc.integer({ min: 0, max: 20 }), fc.integer({ min: 0, max: HISTORY })),
        sequence: fc.integer({ min: 1, max: 0xffff_ffff }),
        skipped: fc.integer({ min: 0, max: 300 }),
        fill: fc.infiniteStream(fc.integer({ min: 0, max: 255 })),
        age: fc.integer({ min: 0, max: 10_000_000_000 }),
      }),
      ({ columns, latestColumns, first, buckets, sequence, skipped, fill, age }) => {
        const history = new History(300);
        history.epoch = 3;
        history.epochUs = start;
        for (const column of columns) {
          for (let b = 0; b < Math.min(buckets, 40); b++) {
            const at = column * HISTORY + ((first + b) % HISTORY);
            history.low[at] = fill.next().value as number;
            history.high[at] = (fill.next().value as number) / 3;
            history.validity[at] = fill.next().value as number;
          }
        }
        const latest = latestOf(300);
        latest.value[7] = -1.5;
        for (const column of latestColumns) latest.ground[column] = start;
        const span = {
          columns: Uint32Array.from(columns),
          latestColumns: Uint32Array.from(latestColumns),
          firstBucket: first,
          buckets,
          groundUs: start + age,
          aircraftUs: start + 7,
        };
        const writer = new UpdateWriter();
        const message = writer.message(writer.shared(history, latest, span), sequence, skipped);
        const part = (ring: Float32Array | Uint8Array, column: number) => {
          const values = Array.from({ length: buckets }, (_, b) => ring[column * HISTORY + ((first + b) % HISTORY)]!);
          return new Uint8Array(
            ring instanceof Uint8Array ? Uint8Array.from(values) : Float32Array.from(values).buffer,
          );
        };
        const expected = encodeToDisplay({
          update: {
            sequence,
            skipped,
            aircraftUs: start + 7,
            groundUs: start + age,
            epoch: 3,
            epochUs: start,
            bucketUs: BUCKET,
            firstBucket: first,
            buckets,
            traces: (buckets === 0 ? [] : columns).map((column) => ({
              column,
              low: part(history.low, column),
              high: part(history.high, column),
              validity: part(history.validity, column),
            })),
            latest: [...columns, ...latestColumns].map((column) => ({
              column,
              value: latest.value[column],
              validity: latest.validity[column],
              ageUs: latest.ground[column]! > 0 ? Math.min(0xffff_ffff, age) : 0,
            })),
          },
        });
        // bytes fields are of the class of their source
        expect(decodeToDisplay(Buffer.from(message))).toEqual(decodeToDisplay(Buffer.from(expected)));
      },
    ),
    { seed: 7120, numRuns: 30 },
  );
});

describe('a display', () => {
  it('gets the history it asked for first, then only what is new or changed', () => {
    const { publish, step } = publishing();
    const display = new Display();
    const subscriber = publish.join(display);
    for (let n = 0; n < 200; n++) step(n);
    expect(publish.subscribe(subscriber, { columns: [2], latestColumns: [0], rateHz: 30, historyS: 2 })).toBe('');
    step(200);
    const first = display.last();
    expect(first.buckets).toBe(50);
    expect(first.traces.map((trace) => trace.column)).toEqual([2]);
    expect(first.latest.map((latest) => latest.column)).toEqual([2, 0]);
    expect(Math.max(...floats(first.traces[0]!.high))).toBe(200);
    publish.subscribers.forEach((s) => s.acknowledge(s.sequence));
    for (let n = 201; n < 210; n++) {
      step(n);
      subscriber.acknowledge(subscriber.sequence);
    }
    for (const update of display.updates().slice(1)) expect(update.buckets).toBeLessThanOrEqual(3);
  });

  it('can put its updates together to every bucket the station has, peaks included', () => {
    fc.assert(
      fc.property(
        fc.array(fc.record({ value: fc.integer(), drawn: fc.boolean() }), { minLength: 50, maxLength: 200 }),
        fc.integer({ min: 1, max: 30 }),
        (steps, rateHz) => {
          const { publish, step, clock } = publishing();
          const display = new Display();
          const subscriber = publish.join(display);
          publish.subscribe(subscriber, { columns: [1], latestColumns: [], rateHz, historyS: 120 });
          for (const { value, drawn } of steps) {
            step(value);
            if (drawn) subscriber.acknowledge(subscriber.sequence);
          }
          subscriber.acknowledge(subscriber.sequence);
          clock.ms += 2000;
          step(0);
          const held = new Map<number, number>();
          for (const update of display.updates()) {
            if (update.buckets === 0) continue;
            floats(update.traces[0]!.high).forEach((high, i) => held.set(update.firstBucket + i, high));
          }
          const { history } = publish;
          for (let bucket = history.oldest; bucket <= history.newest; bucket++)
            expect(held.get(bucket)).toBe(history.high[HISTORY + (bucket % HISTORY)]);
        },
      ),
      { seed: 7121, numRuns: 50 },
    );
  });

  it('is sent at most what it asked for a second, and nearly that', () => {
    for (const rateHz of [1, 4, 30]) {
      const { publish, step } = publishing();
      const display = new Display();
      const subscriber = publish.join(display);
      publish.subscribe(subscriber, { columns: [1], latestColumns: [], rateHz, historyS: 0 });
      for (let n = 0; n < 500; n++) {
        step(n);
        subscriber.acknowledge(subscriber.sequence);
      }
      expect(display.updates().length).toBeLessThanOrEqual(rateHz * 10 + 1);
      expect(display.updates().length).toBeGreaterThan(rateHz * 10 * 0.9);
    }
  });

  it('that draws nothing gets the latest values once a second and is told what was left out', () => {
    const { publish, step } = publishing();
    const display = new Display();
    const subscriber = publish.join(display);
    publish.subscribe(subscriber, { columns: [1], latestColumns: [], rateHz: 30, historyS: 0 });
    for (let n = 0; n < 500; n++) step(n);
    const updates = display.updates();
    expect(updates.length).toBeLessThan(8 + 11);
    expect(updates.at(-1)!.buckets).toBe(0);
    expect(updates.at(-1)!.skipped).toBeGreaterThan(20);
    expect(updates.at(-1)!.latest[0]!.value).toBeGreaterThan(400);
    subscriber.acknowledge(subscriber.sequence);
    step(500);
    step(501);
    expect(display.last().buckets).toBeGreaterThan(1);
  });

  it('that reads nothing is sent nothing more, and no other waits for it', () => {
    const { publish, step } = publishing();
    const stuck = new Display();
    stuck.bufferedAmount = publishCaps.waitingBytes + 1;
    const well = new Display();
    for (const display of [stuck, well]) {
      const subscriber = publish.join(display);
      publish.subscribe(subscriber, { columns: [1], latestColumns: [], rateHz: 30, historyS: 0 });
    }
    for (let n = 0; n < 100; n++) {
      step(n);
      publish.room(new Uint8Array(encodeToDisplay({ room: { groundUs: n } })));
      publish.subscribers.forEach((s) => s.acknowledge(s.sequence));
    }
    expect(stuck.messages).toEqual([]);
    expect(well.messages.length).toBeGreaterThan(140);
    stuck.bufferedAmount = 0;
    step(100);
    step(101);
    expect(decodeToDisplay(stuck.messages[0]!).room?.groundUs).toBe(99);
    expect(stuck.last().skipped).toBeGreaterThan(50);
  });

  it('is told at once when a parameter goes stale, and sees ages grow while nothing comes', () => {
    const { publish, step, wait, latest } = publishing();
    const display = new Display();
    const subscriber = publish.join(display);
    publish.subscribe(subscriber, { columns: [1], latestColumns: [], rateHz: 30, historyS: 0 });
    step(1);
    wait(40);
    const before = display.updates().length;
    wait(40);
    expect(display.updates().length).toBe(before);
    latest.validity.fill(11);
    wait(40);
    expect(display.last().latest[0]!.validity).toBe(11);
    const age = display.last().latest[0]!.ageUs;
    wait(publishCaps.agesMs);
    expect(display.last().latest[0]!.ageUs).toBe(age + publishCaps.agesMs * 1000);
  });

  it('gets the whole new epoch when aircraft time jumps', () => {
    const { publish, step, feed, clock, moment } = publishing();
    const display = new Display();
    const subscriber = publish.join(display);
    publish.subscribe(subscriber, { columns: [1], latestColumns: [], rateHz: 30, historyS: 60 });
    for (let n = 0; n < 20; n++) {
      step(n);
      subscriber.acknowledge(subscriber.sequence);
    }
    const { epoch } = display.last();
    clock.us -= 3_600_000_000;
    clock.ms += 100;
    feed(99, 0);
    publish.pulse(moment());
    expect(display.last().epoch).toBe(epoch + 1);
    expect(floats(display.last().traces[0]!.high)).toEqual([99]);
  });

  it('that asks for what is not there is told so', () => {
    const { publish } = publishing(4);
    const subscriber = publish.join(new Display());
    expect(publish.subscribe(subscriber, { columns: [4], latestColumns: [], rateHz: 4, historyS: 0 })).toBe(
      'no column 4',
    );
    const many = Array.from({ length: 9000 }, () => 1);
    expect(publish.subscribe(subscriber, { columns: many, latestColumns: [], rateHz: 4, historyS: 0 })).toContain(
      'more than',
    );
    subscriber.acknowledge(5);
    expect(subscriber.drawn).toBe(0);
  });

  it('cannot ask for more history than one message should hold', () => {
    const { publish, step } = publishing(1000);
    const display = new Display();
    const subscriber = publish.join(display);
    for (let n = 0; n < 4; n++) step(n);
    publish.history.newest += 2990;
    const columns = Array.from({ length: 1000 }, (_, i) => i);
    publish.subscribe(subscriber, { columns, latestColumns: [], rateHz: 30, historyS: 120 });
    step(5);
    expect(display.messages[0]!.length).toBeLessThan(publishCaps.cells * 9 + 100_000);
  });
});

it('displays with one subscription share one encoding', () => {
  const { publish, step } = publishing();
  const displays = Array.from({ length: 5 }, () => new Display());
  for (const display of displays) {
    const subscriber = publish.join(display);
    publish.subscribe(subscriber, { columns: [0, 3], latestColumns: [1], rateHz: 30, historyS: 1 });
  }
  for (let n = 0; n < 20; n++) {
    step(n);
    publish.subscribers.forEach((s) => s.acknowledge(s.sequence));
  }
  for (const display of displays) expect(display.messages).toEqual(displays[0]!.messages);
});
