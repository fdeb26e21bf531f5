/** Faults a scenario can put into the aircraft: one entry a fault. What follows from a fault is left to the models. */
import type { Injection, InjectionName } from './scenario.ts';

/** What of the aircraft a fault can touch. */
interface Faulty {
  /** seconds since the beginning */
  readonly time: number;
  readonly engine: { failed: boolean };
  readonly actuators: { jammed: boolean[] };
  readonly computers: { drift: Float64Array };
}

/** Called every step from the time of the injection on; `elapsed` is in seconds. */
const injected: Record<InjectionName, (aircraft: Faulty, injection: Injection, elapsed: number) => void> = {
  'fail engine': (aircraft) => {
    aircraft.engine.failed = true;
  },
  'jam actuator': (aircraft, { actuator = 1 }) => {
    aircraft.actuators.jammed[actuator - 1] = true;
  },
  'drift pitch rate': (aircraft, { channel = 'A', drift = 0 }, elapsed) => {
    aircraft.computers.drift['ABC'.indexOf(channel)] = (drift * elapsed * Math.PI) / 180;
  },
  // faults of what measures, which the aircraft knows nothing of: sensors.ts
  'shift sensor': () => undefined,
  'scale sensor': () => undefined,
  'freeze sensor': () => undefined,
  'swap sensors': () => undefined,
  'roughen sensor': () => undefined,
  'open shunt': () => undefined,
};

export function inject(aircraft: Faulty, injections: readonly Injection[]): void {
  for (const injection of injections) {
    const elapsed = aircraft.time - injection.at;
    if (elapsed >= 0) injected[injection.do](aircraft, injection, elapsed);
  }
}
