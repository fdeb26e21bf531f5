/** Drive train: the speed of the rotor, the speed of the power turbine, and the freewheel between them. */
import { rotorShape } from './rotor.ts';

/** Power turbine and input shaft, as felt at main rotor speed, kg m2. */
const TURBINE_INERTIA = 22;
/** What bearings and accessories take, N m at main rotor speed: a constant and a part with speed. */
const FRICTION = 40;
const ACCESSORIES = 150;
/** Slower than this the rotor counts as standing, rad/s. */
const AT_REST = 0.01;

export class Drive {
  readonly in = {
    /** of the power turbine at its present speed, at main rotor speed, N m */
    engineTorque: 0,
    mainTorque: 0,
    tailTorque: 0,
    /** N m on the rotor */
    brake: 0,
  };
  /** rad/s */
  rotorSpeed = 0;
  /** of the power turbine, at main rotor speed, rad/s */
  turbineSpeed = 0;
  /** rad, since the beginning, for vibration; kept within one turn */
  azimuth = 0;
  /** true while the engine drives the rotor */
  engaged = true;
  /** through the freewheel, N m */
  shaftTorque = 0;

  run(dt: number): void {
    const { engineTorque, mainTorque, tailTorque, brake } = this.in;
    const share = this.rotorSpeed / rotorShape.speed;
    const turbineDrag = this.turbineSpeed > AT_REST ? 25 + 30 * (this.turbineSpeed / rotorShape.speed) : 0;
    const drive = engineTorque - turbineDrag;
    const resistance = FRICTION + brake + ACCESSORIES * share;
    const pull = (this.engaged ? drive : 0) - mainTorque - tailTorque;
    // a standing rotor stays where it is until something pulls harder than friction holds
    const held = this.rotorSpeed < AT_REST && Math.abs(pull) <= resistance;
    if (held) this.rotorSpeed = 0;
    const load = mainTorque + tailTorque + resistance;
    if (this.engaged) this.together(dt, drive, held ? drive : load);
    if (!this.engaged) this.apart(dt, drive, held ? 0 : load);
    this.azimuth = (this.azimuth + dt * this.rotorSpeed) % (2 * Math.PI);
  }

  private together(dt: number, drive: number, load: number): void {
    const change = (drive - load) / (rotorShape.inertia + TURBINE_INERTIA);
    this.shaftTorque = drive - TURBINE_INERTIA * change;
    if (this.shaftTorque < -5) {
      this.engaged = false;
      return;
    }
    this.rotorSpeed = Math.max(0, this.rotorSpeed + dt * change);
    this.turbineSpeed = this.rotorSpeed;
  }

  private apart(dt: number, drive: number, load: number): void {
    this.shaftTorque = 0;
    this.rotorSpeed = Math.max(0, this.rotorSpeed - (dt * load) / rotorShape.inertia);
    this.turbineSpeed = Math.max(0, this.turbineSpeed + (dt * drive) / TURBINE_INERTIA);
    if (this.turbineSpeed < this.rotorSpeed) return;
    const sum = rotorShape.inertia * this.rotorSpeed + TURBINE_INERTIA * this.turbineSpeed;
    this.rotorSpeed = sum / (rotorShape.inertia + TURBINE_INERTIA);
    this.turbineSpeed = this.rotorSpeed;
    this.engaged = true;
  }
}
