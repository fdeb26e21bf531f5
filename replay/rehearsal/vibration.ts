/**
 * Vibration and loads that go with the turning rotor: sums of its orders, with amplitudes that follow speed, thrust and
 * load factor. The 2/rev amplitude against airspeed is that of the SM-1X test plan (0.110 g at 80 kt to 0.218 g at 110).
 */
import { rotorShape } from './rotor.ts';

const speedsKt = [0, 10, 20, 30, 50, 65, 80, 90, 100, 105, 110];
const secondOrder = [0.052, 0.068, 0.118, 0.092, 0.068, 0.082, 0.11, 0.131, 0.164, 0.188, 0.218];

export class Vibration {
  readonly in = { azimuth: 0, speed: 0, airspeedKt: 0, thrust: 0, nz: 1, bladeLoading: 0, torque: 0, tailThrust: 0 };
  /** g, on top of the load factor: at the pilot's seat, at the main gearbox, at the tail gearbox */
  readonly seat = new Float64Array(3);
  readonly gearbox = new Float64Array(3);
  tailVertical = 0;
  tailLateral = 0;
  /** N, N m */
  pitchLink = 0;
  mastBending = 0;
  boomBending = 0;
  boomTorsion = 0;
  flapBending = 0;
  chordBending = 0;
  mastTorque = 0;
  private tailAzimuth = 0;

  run(dt: number): void {
    const { azimuth, speed, airspeedKt, thrust, nz, bladeLoading, torque, tailThrust } = this.in;
    const share = speed / rotorShape.speed;
    const pull = share * share;
    const one = Math.cos(azimuth);
    const oneSide = Math.sin(azimuth);
    const two = Math.cos(2 * azimuth + 0.4);
    const twoSide = Math.sin(2 * azimuth - 0.7);
    const four = Math.cos(4 * azimuth + 1.1);
    const second = pull * interpolate(airspeedKt) * (0.6 + 0.4 * Math.abs(nz));
    this.seat[0] = 0.011 * pull * one + 0.35 * second * twoSide + 0.008 * pull * four;
    this.seat[1] = 0.016 * pull * oneSide + 0.45 * second * twoSide + 0.006 * pull * four;
    this.seat[2] = 0.021 * pull * one + second * two + 0.014 * pull * four;
    this.gearbox[0] = 0.03 * pull * one + 0.8 * second * twoSide + 0.05 * pull * four;
    this.gearbox[1] = 0.035 * pull * oneSide + 0.9 * second * two + 0.045 * pull * four;
    this.gearbox[2] = 0.028 * pull * one + 1.5 * second * two + 0.06 * pull * four;
    this.tailAzimuth = (this.tailAzimuth + dt * speed * 5.4) % (2 * Math.PI);
    this.tailVertical = 0.09 * pull * Math.cos(this.tailAzimuth) + 0.4 * second * two;
    this.tailLateral = 0.11 * pull * Math.sin(this.tailAzimuth) + 0.5 * second * twoSide;
    this.loads(pull, one, two, twoSide, airspeedKt, thrust, bladeLoading, torque, tailThrust);
  }

  private loads(
    pull: number,
    one: number,
    two: number,
    twoSide: number,
    airspeedKt: number,
    thrust: number,
    bladeLoading: number,
    torque: number,
    tailThrust: number,
  ): void {
    const fast = Math.min(1.5, airspeedKt / 100);
    const kilo = thrust / 1000;
    this.pitchLink = 55 * pull + 9 * kilo + pull * ((120 + 420 * fast * fast) * one + (60 + 210 * fast) * two);
    this.pitchLink += pull * 900 * Math.max(0, bladeLoading - 0.11) * 10 * two;
    this.mastBending = pull * (140 + 620 * fast) * one + 60 * pull * twoSide;
    this.boomBending = -820 + 6.4 * tailThrust * 0.2 + pull * (90 + 240 * fast) * two;
    this.boomTorsion = 0.6 * tailThrust + pull * 45 * twoSide;
    this.flapBending = 14 * kilo + pull * ((110 + 330 * fast) * one + (70 + 150 * fast) * two);
    this.chordBending = 0.11 * torque + pull * (160 + 300 * fast) * twoSide;
    this.mastTorque = torque * (1 + 0.02 * two);
  }
}

function interpolate(airspeedKt: number): number {
  let i = 1;
  while (i < speedsKt.length - 1 && airspeedKt > speedsKt[i]!) i++;
  const low = speedsKt[i - 1]!;
  const share = (airspeedKt - low) / (speedsKt[i]! - low);
  return Math.max(0, secondOrder[i - 1]! + share * (secondOrder[i]! - secondOrder[i - 1]!));
}
