import { describe, expect, it } from 'vitest';
import { ActuatorModel } from './actuator.ts';

const RATE = 100;

/** Positions of a model, from rest at 0, for a command at 100 samples a second. */
function respond(command: (t: number) => number, seconds: number, [f, z, limit]: [number, number, number]): number[] {
  const model = new ActuatorModel(f, z, limit);
  model.start(command(0));
  return Array.from({ length: seconds * RATE }, (_, i) =>
    model.step(1 / RATE, command(i / RATE), command((i + 1) / RATE)),
  );
}

describe('the model of an actuator', () => {
  it('overshoots a step as its damping says, and settles on it', () => {
    const step = respond((t) => (t > 0 ? 10 : 0), 3, [2, 0.5, 1e9]);
    // exp(-pi z / sqrt(1 - z^2)) = 16.3 % over, half a period after the step
    expect(Math.max(...step) / 10 - 1).toBeCloseTo(Math.exp((-Math.PI * 0.5) / Math.sqrt(0.75)), 2);
    expect(step.at(-1)).toBeCloseTo(10, 2);
  });

  it('has gain 1 / (2 z) and lags a quarter at its natural frequency', () => {
    const f = 1;
    const sine = respond((t) => Math.sin(2 * Math.PI * f * t), 20, [f, 0.7, 1e9]).slice(-RATE);
    expect(Math.max(...sine)).toBeCloseTo(1 / 1.4, 3);
    // the last whole period begins at phase 0 of the command, where the response is at its lowest
    expect(sine.indexOf(Math.min(...sine))).toBeCloseTo(99, -0.5);
  });

  it('moves no faster than its limit, and does not wind up', () => {
    const slow = respond((t) => (t > 0 && t < 1 ? 100 : 0), 4, [4, 0.8, 20]);
    const speeds = slow.map((y, i) => Math.abs(y - (slow[i - 1] ?? 0)) * RATE);
    expect(Math.max(...speeds)).toBeLessThanOrEqual(20 + 1e-9);
    expect(Math.max(...slow)).toBeGreaterThan(18);
    expect(Math.max(...slow)).toBeLessThan(22);
    // it turns round at once when the command does
    expect(slow.indexOf(Math.max(...slow))).toBeLessThan(115);
    expect(slow.at(-1)).toBeCloseTo(0, 3);
  });

  it('gives nearly the same however far apart its samples are', () => {
    const [coarse, fine] = [25, 400].map((rate) => {
      const model = new ActuatorModel(3, 0.6, 30);
      model.start(0);
      let y = 0;
      for (let i = 0; i < 2 * rate; i++) y = model.step(1 / rate, (9 * i) / rate, (9 * (i + 1)) / rate);
      return y;
    }) as [number, number];
    expect(Math.abs(coarse - fine)).toBeLessThan(1e-3);
  });
});
