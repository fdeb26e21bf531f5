/** The telemetry set itself: transmitter, recorder, clock. What the instrumentation engineer looks at. */
import type { Electrics } from './electrics.ts';

export class Instrumentation {
  transmitterK: number;
  crateK: number;
  /** channel whose shunt is switched in; '' = none is */
  shunt = '';
  /** supply of the strain-gauge bridges, V */
  readonly bridgeSupply = 10.002;
  /** share of the on-board recorder still free */
  recorderFree = 0.94;
  /** W */
  transmitted = 0;
  reflected = 0;
  /** V, A */
  supply = 0;
  drawn = 0;

  constructor(ambientK: number) {
    this.transmitterK = ambientK + 14;
    this.crateK = ambientK + 6;
  }

  run(dt: number, electrics: Electrics, ambientK: number): void {
    this.supply = electrics.busB - 0.4;
    this.transmitted = 5 + 0.05 * (this.supply - 25);
    this.reflected = 0.18;
    this.drawn = 6.2 * (26 / this.supply);
    this.transmitterK += (dt / 300) * (ambientK + 34 - this.transmitterK);
    this.crateK += (dt / 600) * (ambientK + 16 - this.crateK);
    this.recorderFree -= dt / (9 * 3600);
  }
}
