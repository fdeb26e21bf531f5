import { describe, expect, test } from 'vitest';
import { decodeEnvelope } from '../../protocol/wire.ts';
import { cleanLink, type Departure, Link, type LinkSettings } from './link.ts';

const frame = Uint8Array.from({ length: 1000 }, (_, i) => (i * 37) & 255);

function carry(settings: Partial<LinkSettings>, count: number, seed = 1): Departure[][] {
  const link = new Link({ ...cleanLink, receiver: 'North', ...settings }, seed);
  return Array.from({ length: count }, (_, i) => link.carry(frame, (i + 1) * 20_000));
}

describe('a clean link', () => {
  const carried = carry({ delayUs: 30_000 }, 50);

  test('delivers every frame once, unchanged, after its delay', () => {
    for (const [i, departures] of carried.entries()) {
      expect(departures).toHaveLength(1);
      expect(departures[0]!.sendAtUs).toBe((i + 1) * 20_000 + 30_000);
      const envelope = decodeEnvelope(departures[0]!.bytes);
      expect(envelope.receiver).toBe('North');
      expect([...envelope.frame]).toEqual([...frame]);
    }
  });

  test('says that it is good', () => {
    expect(decodeEnvelope(carried[49]![0]!.bytes).quality).toBeGreaterThan(60_000);
  });
});

test('the share of frames lost and doubled is the one asked for', () => {
  const carried = carry({ loss: 0.1, duplicates: 0.05 }, 20_000);
  const lost = carried.filter((departures) => departures.length === 0).length;
  const doubled = carried.filter((departures) => departures.length === 2).length;
  expect(lost / 20_000).toBeCloseTo(0.1, 2);
  expect(doubled / (20_000 - lost)).toBeCloseTo(0.05, 2);
});

test('the share of wrong bits is the one asked for, and the quality word goes down', () => {
  const carried = carry({ bitErrors: 2e-4 }, 3000);
  let wrong = 0;
  for (const [departure] of carried) {
    const got = decodeEnvelope(departure!.bytes).frame;
    for (let i = 0; i < frame.length; i++) for (let x = got[i]! ^ frame[i]!; x; x &= x - 1) wrong++;
  }
  expect(wrong / (3000 * 8000)).toBeGreaterThan(1.8e-4);
  expect(wrong / (3000 * 8000)).toBeLessThan(2.2e-4);
  expect(decodeEnvelope(carried[2999]![0]!.bytes).quality).toBeLessThan(40_000);
  const lying = carry({ bitErrors: 2e-4, honestQuality: false }, 500);
  expect(decodeEnvelope(lying[499]![0]!.bytes).quality).toBe(64_000);
});

test('frames held back leave after later ones', () => {
  const carried = carry({ reordered: 0.1 }, 1000).flat();
  const swapped = carried.filter((departure, i) => i > 0 && departure.sendAtUs < carried[i - 1]!.sendAtUs).length;
  expect(swapped).toBeGreaterThan(50);
});

test('jitter spreads the delay, and never sends before half of it', () => {
  const delays = carry({ delayUs: 20_000, jitterUs: 5_000 }, 4000).map(([d], i) => d!.sendAtUs - (i + 1) * 20_000);
  const mean = delays.reduce((sum, d) => sum + d, 0) / delays.length;
  const deviation = Math.sqrt(delays.reduce((sum, d) => sum + (d - mean) ** 2, 0) / delays.length);
  expect(mean / 20_000).toBeCloseTo(1, 1);
  expect(deviation / 5000).toBeCloseTo(1, 1);
  expect(Math.min(...delays)).toBeGreaterThanOrEqual(10_000);
});

test('nothing comes during an outage', () => {
  const carried = carry({ outages: [{ fromUs: 100_000, toUs: 300_000 }] }, 50);
  for (const [i, departures] of carried.entries()) {
    const atUs = (i + 1) * 20_000;
    expect(departures).toHaveLength(atUs >= 100_000 && atUs < 300_000 ? 0 : 1);
  }
});

test('receivers of one flight lose different frames, and a seed repeats them', () => {
  const lost = (receiver: string, seed: number) =>
    carry({ receiver, loss: 0.2 }, 200, seed).map((departures) => departures.length);
  expect(lost('North', 1)).toEqual(lost('North', 1));
  expect(lost('North', 1)).not.toEqual(lost('South', 1));
  expect(lost('North', 1)).not.toEqual(lost('North', 2));
});

test('changing one setting does not reshuffle what the others do', () => {
  const lost = (duplicates: number) =>
    carry({ loss: 0.2, duplicates }, 200).map((departures) => departures.length === 0);
  expect(lost(0)).toEqual(lost(0.3));
});
