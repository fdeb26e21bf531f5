import { expect, it } from 'vitest';
import type { LimitsView } from '../../protocol/limit.ts';
import { decodeToDisplay } from '../../protocol/wire.ts';
import { Publish, publishCaps, type Screen } from './publish.ts';

class Display implements Screen {
  bufferedAmount = 0;
  messages: Uint8Array[] = [];
  send(message: Uint8Array) {
    this.messages.push(message);
  }
  limits() {
    return this.messages.flatMap((message) => decodeToDisplay(message).limits ?? []);
  }
}

const floats = (bytes: Uint8Array | null | undefined): number[] => [
  ...new Float32Array(Uint8Array.from(bytes ?? []).buffer),
];
const wanted = { columns: [], latestColumns: [], rateHz: 4, historyS: 0 };

/** A publisher over three limits; `pulse` lets time pass and counts how often the view is read. */
function publishing() {
  const clock = { ms: 5000, us: 1_800_000_000_000_000 };
  const view: LimitsView = {
    condition: Uint8Array.of(0, 2, 3),
    level: Uint8Array.of(0, 3, 0),
    value: Float64Array.of(1.5, 99, Number.NaN),
    next: Float64Array.of(2, 95.5, Number.NaN),
  };
  const publish = new Publish(() => clock.ms);
  publish.begin(0);
  const state = { reads: 0 };
  const pulse = (ms: number) => {
    clock.ms += ms;
    clock.us += ms * 1000;
    publish.limits(clock.us, () => {
      state.reads++;
      return view;
    });
  };
  const join = (limits?: boolean) => {
    const screen = new Display();
    const subscriber = publish.join(screen);
    publish.subscribe(subscriber, limits === undefined ? wanted : { ...wanted, limits });
    return { screen, subscriber };
  };
  return { publish, view, pulse, join, state, clock };
}

it('sends what every limit says, in the order of the mission, to who asked for it', () => {
  const { pulse, join, clock } = publishing();
  const [with_, without] = [join(true).screen, join().screen];
  pulse(1);
  expect(without.messages).toEqual([]);
  const [message] = with_.limits();
  expect(message?.aircraftUs).toBe(clock.us);
  expect([...(message?.conditions ?? [])]).toEqual([0, 2, 3]);
  expect([...(message?.levels ?? [])]).toEqual([0, 3, 0]);
  expect(floats(message?.values)).toEqual([1.5, 99, Number.NaN]);
  expect(floats(message?.next)).toEqual([2, 95.5, Number.NaN]);
});

it('is encoded once for all, and sent four times a second at most', () => {
  const { pulse, join, state } = publishing();
  const displays = Array.from({ length: 20 }, () => join(true).screen);
  for (let ms = 0; ms < 2000; ms += 40) pulse(40);
  expect(state.reads).toBeLessThanOrEqual(8);
  expect(state.reads).toBeGreaterThanOrEqual(6);
  for (const screen of displays) {
    expect(screen.messages).toHaveLength(state.reads);
    expect(screen.messages[0]).toBe(displays[0]?.messages[0]);
  }
});

it('costs nothing while nobody wants it, and stops when a display wants it no more', () => {
  const { publish, pulse, join, state } = publishing();
  join();
  pulse(1000);
  expect(state.reads).toBe(0);
  const { screen, subscriber } = join(true);
  pulse(1000);
  publish.subscribe(subscriber, wanted);
  pulse(1000);
  expect(screen.messages).toHaveLength(1);
});

it('a display that comes later gets the newest at once; the same is not sent twice', () => {
  const { pulse, join, clock, publish, view } = publishing();
  const first = join(true).screen;
  pulse(1000);
  const second = join(true).screen;
  publish.limits(clock.us, () => view);
  expect(second.messages).toEqual(first.messages);
  clock.ms += publishCaps.limitsMs;
  publish.limits(clock.us, () => view);
  expect(first.messages).toHaveLength(1);
  view.condition[0] = 1;
  clock.ms += publishCaps.limitsMs;
  publish.limits(clock.us, () => view);
  expect(first.messages).toHaveLength(2);
});

it('the same is sent again once a second: while no sample comes, or a replay stands still, it is still true', () => {
  const { join, clock, publish, view } = publishing();
  const { screen } = join(true);
  for (let ms = 0; ms <= 10_000; ms += 50) {
    publish.limits(clock.us, () => view);
    clock.ms += 50;
  }
  expect(screen.messages).toHaveLength(11);
  expect(new Set(screen.messages.map((message) => message.join())).size).toBe(1);
});

it('a display that is stuck is sent nothing, then the newest alone; nobody waits for it', () => {
  const { pulse, join } = publishing();
  const [stuck, other] = [join(true).screen, join(true).screen];
  stuck.bufferedAmount = publishCaps.waitingBytes + 1;
  for (let n = 0; n < 4; n++) pulse(250);
  expect(stuck.messages).toEqual([]);
  expect(other.messages).toHaveLength(4);
  stuck.bufferedAmount = 0;
  pulse(10);
  expect(stuck.messages).toEqual([other.messages[3]]);
});

it('of another mission nothing is sent before the display asks anew', () => {
  const { publish, pulse, join } = publishing();
  const { screen, subscriber } = join(true);
  pulse(250);
  publish.begin(3);
  pulse(250);
  expect(screen.messages).toHaveLength(1);
  publish.subscribe(subscriber, { ...wanted, limits: true });
  pulse(1);
  expect(screen.messages).toHaveLength(2);
});
