import { describe, expect, it } from 'vitest';
import { BandPass, Oscillation } from './oscillation.ts';

const RATE = 100;

/** Amplitude of a sine of so many Hz after the filter, when it has settled. */
function gain(f: number, low: number, high: number): number {
  const pass = new BandPass(low, high, RATE);
  pass.start(0);
  let greatest = 0;
  for (let i = 0; i < 60 * RATE; i++) {
    const y = pass.step(Math.sin((2 * Math.PI * f * i) / RATE));
    if (i > 40 * RATE) greatest = Math.max(greatest, Math.abs(y));
  }
  return greatest;
}

describe('a band-pass', () => {
  it('is 3 dB down at its ends, flat between, and lets nothing steady pass', () => {
    // far apart, so that one end does not reach the other
    expect(gain(0.2, 0.2, 10)).toBeCloseTo(Math.SQRT1_2, 2);
    expect(gain(10, 0.2, 10)).toBeCloseTo(Math.SQRT1_2, 2);
    expect(gain(1.4, 0.2, 10)).toBeGreaterThan(0.99);
    expect(gain(1.4, 0.2, 10)).toBeLessThan(1.01);
    // second order: a tenth of the frequency, a hundredth of the amplitude
    expect(gain(0.02, 0.2, 10)).toBeLessThan(0.0102);
    const pass = new BandPass(0.5, 2, RATE);
    pass.start(1234);
    for (let i = 0; i < 300; i++) expect(Math.abs(pass.step(1234))).toBeLessThan(1e-9);
  });
});

describe('an oscillation', () => {
  /** A response of amplitude 3 at f Hz, so many degrees behind its drive of amplitude 0.2, both on a slow change. */
  function watch(f: number, lag: number, count: number): Oscillation {
    const one = new Oscillation(2, 8, RATE, count);
    const turn = (i: number) => (2 * Math.PI * f * i) / RATE;
    for (let i = 0; i <= 12 * RATE; i++) {
      const response = 40 + 0.002 * i + 3 * Math.sin(turn(i) - (lag * Math.PI) / 180);
      const drive = 7 - 0.001 * i + 0.2 * Math.sin(turn(i));
      if (i === 0) one.start(response, drive);
      else one.push(response, drive);
    }
    return one;
  }

  it('is told with its amplitude, and its phase to the drive within a degree', () => {
    for (const lag of [0, 30, 90, 135, 179, -45, -120]) {
      const one = watch(4, lag, 100);
      expect(one.lag()).toBeCloseTo(lag, 0);
      // in the middle of two octaves each end takes 1 / sqrt(1 + (1/2)^4)
      expect(Math.abs(one.amplitude() - 3 / (1 + 0.5 ** 4))).toBeLessThan(0.01);
      expect(one.coherence()).toBeGreaterThan(0.99);
    }
  });

  it('goes with a drive of its own frequency only', () => {
    const one = new Oscillation(2, 8, RATE, 200);
    one.start(0, 0);
    for (let i = 1; i < 1000; i++) {
      one.push(Math.sin((2 * Math.PI * 3 * i) / RATE), Math.sin((2 * Math.PI * 6 * i) / RATE));
    }
    expect(one.coherence()).toBeLessThan(0.05);
  });

  it('has no coherence where there is nothing', () => {
    const one = new Oscillation(2, 8, RATE, 10);
    one.start(5, 5);
    for (let i = 0; i < 9; i++) one.push(5, 5);
    expect(one.isFull()).toBe(false);
    one.push(5, 5);
    expect(one.isFull()).toBe(true);
    expect([one.amplitude(), one.coherence()]).toEqual([0, 0]);
  });

  it('forgets a great disturbance once the window and the filter have passed it', () => {
    const one = new Oscillation(2, 8, RATE, 100);
    one.start(0, 0);
    for (let i = 1; i < 5000; i++) one.push(i === 100 ? 1e12 : Math.sin((2 * Math.PI * 4 * i) / RATE), 0);
    expect(Math.abs(one.amplitude() - 1 / (1 + 0.5 ** 4))).toBeLessThan(0.01);
  });
});
