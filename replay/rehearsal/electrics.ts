/** 28 V direct current: battery, starter-generator, two busses; the generator comes on when the engine idles. */
export class Electrics {
  readonly in = {
    /** gas generator speed over rated */
    n1: 0,
    starter: false,
    /** A that the actuators draw */
    actuators: 0,
  };
  busA = 25.2;
  busB = 25.1;
  generatorOn = false;
  generatorAmps = 0;
  /** positive: charging */
  batteryAmps = 0;
  batteryK: number;
  private charge = 0.93;

  constructor(ambientK: number) {
    this.batteryK = ambientK;
  }

  run(dt: number): void {
    const { n1, starter, actuators } = this.in;
    this.generatorOn = n1 > 0.56 && !starter;
    const load = 38 + actuators;
    const starting = starter ? 320 * Math.max(0.15, 1 - n1 / 0.6) : 0;
    const rest = 24.2 + 1.3 * this.charge;
    const charging = this.generatorOn ? Math.min(45, (28.2 - rest) * 9) : -(load + starting);
    this.batteryAmps += dt * 8 * (charging - this.batteryAmps);
    this.charge = Math.max(0, Math.min(1, this.charge + (dt * this.batteryAmps) / (24 * 3600)));
    const aim = this.generatorOn ? 28.2 : rest + 0.0135 * this.batteryAmps;
    this.busA += dt * 12 * (aim - this.busA);
    this.busB += dt * 12 * (aim - 0.15 - this.busB);
    this.generatorAmps = this.generatorOn ? load + Math.max(0, this.batteryAmps) : 0;
    this.batteryK += dt * (2e-5 * this.batteryAmps ** 2 * 0.05);
  }
}
