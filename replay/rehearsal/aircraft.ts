/**
 * The invented helicopter Sedgemerle SM-1X: the page that names its models once, in the order they run, and hands each
 * its inputs. Fixed step of 1 ms; the computers and the pilot run every tenth step. The same seed flies the same flight.
 */
import { ACTUATORS, Actuators } from './actuators.ts';
import { Air, calibratedAirspeed, impactPressure } from './air.ts';
import { Body } from './body.ts';
import { Computers } from './computers.ts';
import { Drive } from './drive.ts';
import { Electrics } from './electrics.ts';
import { Engine, engineShape } from './engine.ts';
import { empty, Fuel } from './fuel.ts';
import { Gearbox } from './gearbox.ts';
import { Governor } from './governor.ts';
import { inject } from './injection.ts';
import { Instrumentation } from './instrumentation.ts';
import { Pilot } from './pilot.ts';
import { MainRotor, rotorShape } from './rotor.ts';
import type { Injection, Scenario } from './scenario.ts';
import { Skids, STANDING_HEIGHT } from './skids.ts';
import { Tail } from './tail.ts';
import { Vibration } from './vibration.ts';

/** Microseconds a step. */
export const STEP_US = 1000;
const dt = STEP_US / 1e6;
/** Steps from one run of the computers to the next. */
const COMPUTER_STEPS = 10;
/** A skid switch closes above this load, N. */
const SKID_SWITCH = 250;
const KNOT = 1852 / 3600;
const STARTING_HEADING = (210 * Math.PI) / 180;

export class Aircraft {
  readonly air: Air;
  readonly fuel: Fuel;
  readonly pilot: Pilot;
  readonly computers: Computers;
  readonly actuators: Actuators;
  readonly governor = new Governor();
  readonly engine: Engine;
  readonly rotor = new MainRotor();
  readonly tail = new Tail();
  readonly drive = new Drive();
  readonly skids = new Skids();
  readonly body = new Body(STARTING_HEADING, STANDING_HEIGHT - 0.055);
  readonly gearbox: Gearbox;
  readonly electrics: Electrics;
  readonly vibration = new Vibration();
  readonly instrumentation: Instrumentation;
  /** milliseconds since the Unix epoch when the flight began, for the aircraft's own clock */
  startMillis = 0;
  /** seconds the engine has run */
  runningSeconds = 0;
  /** steps since the beginning */
  steps = 0;
  /** velocity through the air, body axes, m/s */
  airU = 0;
  airV = 0;
  airW = 0;
  /** pitot minus static pressure along the nose boom, Pa; calibrated airspeed from it, m/s */
  impact = 0;
  calibrated = 0;
  /** m/s over the ground along and across the heading */
  forward = 0;
  right = 0;

  private readonly injections: readonly Injection[];

  constructor(scenario: Scenario, seed: number) {
    const { day } = scenario;
    this.injections = scenario.injections;
    this.air = new Air(day, seed);
    this.fuel = new Fuel(scenario.fuelForwardKg, scenario.fuelAftKg);
    this.pilot = new Pilot(scenario.script, STARTING_HEADING);
    this.computers = new Computers(seed);
    this.actuators = new Actuators(day.temperatureK);
    this.engine = new Engine(day.temperatureK);
    this.gearbox = new Gearbox(scenario.gearboxOilK);
    this.electrics = new Electrics(day.temperatureK);
    this.instrumentation = new Instrumentation(day.temperatureK);
  }

  /** Seconds since the beginning. */
  get time(): number {
    return (this.steps * STEP_US) / 1e6;
  }
  /** Rotor speed over 100 %. */
  get nr(): number {
    return this.drive.rotorSpeed / rotorShape.speed;
  }
  /** Torque over 100 %. */
  get tq(): number {
    return (this.drive.shaftTorque * rotorShape.speed) / engineShape.ratedPower;
  }
  /** Skids above the ground, m. */
  get skidHeight(): number {
    return Math.max(0, this.body.height - STANDING_HEIGHT);
  }
  get leftDown(): boolean {
    return this.skids.left > SKID_SWITCH;
  }
  get rightDown(): boolean {
    return this.skids.right > SKID_SWITCH;
  }

  step(): void {
    if (this.injections.length > 0) inject(this, this.injections);
    this.flow();
    if (this.steps % COMPUTER_STEPS === 0) this.think();
    this.actuators.run(dt, this.rotor.thrust / 16_000);
    this.power();
    this.lift();
    this.move();
    this.serve();
    this.steps++;
  }

  /** Air, and the way through it. */
  private flow(): void {
    const { air, body } = this;
    air.in.height = body.height;
    air.in.airspeed = Math.hypot(this.airU, this.airV, this.airW);
    air.run(dt);
    const t = body.turn;
    const north = body.velocityNorth - air.windNorth;
    const east = body.velocityEast - air.windEast;
    const down = -(body.climb - air.windUp);
    this.airU = t[0]! * north + t[3]! * east + t[6]! * down;
    this.airV = t[1]! * north + t[4]! * east + t[7]! * down;
    this.airW = t[2]! * north + t[5]! * east + t[8]! * down;
    this.impact = impactPressure(Math.max(0, this.airU), air.speedOfSound, air.pressure);
    this.calibrated = calibratedAirspeed(this.impact);
    const c = Math.cos(body.heading);
    const s = Math.sin(body.heading);
    this.forward = body.velocityNorth * c + body.velocityEast * s;
    this.right = body.velocityEast * c - body.velocityNorth * s;
  }

  private think(): void {
    const { body, pilot, computers } = this;
    const onSkids = this.leftDown || this.rightDown;
    const sees = pilot.in;
    sees.north = body.north;
    sees.east = body.east;
    sees.height = this.skidHeight;
    sees.heading = body.heading;
    sees.pitch = body.pitch;
    sees.forward = this.forward;
    sees.right = this.right;
    sees.climb = body.climb;
    sees.airspeed = this.calibrated;
    sees.nr = this.nr;
    sees.tq = this.tq;
    sees.onSkids = onSkids;
    sees.engineMode = this.governor.mode;
    sees.n1 = this.engine.n1;
    pilot.flareCollective = computers.collectiveDeg;
    pilot.run();
    const into = computers.in;
    into.p = body.p;
    into.q = body.q;
    into.r = body.r;
    into.roll = body.roll;
    into.pitch = body.pitch;
    into.heading = body.heading;
    into.forward = this.forward;
    into.right = this.right;
    into.climb = body.climb;
    into.airspeed = this.calibrated;
    into.nr = this.nr;
    into.onSkids = onSkids;
    into.pilot = pilot.command;
    computers.run();
    for (let i = 0; i < ACTUATORS; i++) this.actuators.command[i] = pilot.swept(computers.command[i]!);
    this.instrumentation.shunt = pilot.shunt;
  }

  /** Fuel control, engine, drive train. */
  private power(): void {
    const { air, governor, engine, drive, pilot, fuel } = this;
    const densityRatio = air.density / 1.225;
    governor.in.switch = pilot.engine;
    governor.in.n1 = engine.n1;
    governor.in.n2 = drive.turbineSpeed / rotorShape.speed;
    governor.in.nr = this.nr;
    governor.in.collectiveDeg = (this.actuators.angle(2) * 180) / Math.PI;
    governor.in.densityRatio = densityRatio;
    governor.in.power = drive.shaftTorque * drive.rotorSpeed;
    governor.in.outletRise = engine.outletK - air.temperature;
    governor.run(dt);
    engine.in.fuelFlow = fuel.forward > 0 ? governor.fuelFlow : 0;
    engine.in.starter = governor.starter;
    engine.in.ignition = governor.starter;
    engine.in.n2 = governor.in.n2;
    engine.in.ambientK = air.temperature;
    engine.in.densityRatio = densityRatio;
    engine.run(dt);
    drive.in.engineTorque = engine.torqueAt(governor.in.n2, rotorShape.speed);
    drive.in.mainTorque = this.rotor.torque;
    drive.in.tailTorque = this.tail.torque;
    drive.in.brake = pilot.brake;
    drive.run(dt);
  }

  /** Rotors and surfaces. */
  private lift(): void {
    const { rotor, tail, body, actuators, air, drive } = this;
    const arm = this.fuel.station - rotorShape.hubStation;
    const above = rotorShape.hubHeight;
    const into = rotor.in;
    // the hub sits above the centre of gravity and ahead of it by `arm`
    into.u = this.airU - above * body.q;
    into.v = this.airV + above * body.p + arm * body.r;
    into.w = this.airW - arm * body.q;
    into.p = body.p;
    into.q = body.q;
    into.collective = actuators.angle(2);
    into.aft = actuators.angle(0);
    into.right = actuators.angle(1);
    into.speed = drive.rotorSpeed;
    into.density = air.density;
    into.height = body.height + above;
    into.arm = arm;
    rotor.run(dt);
    tail.in.u = this.airU;
    tail.in.v = this.airV;
    tail.in.w = this.airW;
    tail.in.q = body.q;
    tail.in.r = body.r;
    tail.in.pitch = actuators.angle(3);
    tail.in.speed = drive.rotorSpeed;
    tail.in.density = air.density;
    // the wake leaves the fuselage behind with forward speed
    tail.in.downwash = rotor.inducedVelocity * Math.max(0, 1 - Math.abs(this.airU) / 22);
    tail.run(dt);
  }

  private move(): void {
    const { skids, body, rotor, tail, fuel } = this;
    const s = skids.in;
    s.height = body.height;
    s.u = body.u;
    s.v = body.v;
    s.w = body.w;
    s.p = body.p;
    s.q = body.q;
    s.r = body.r;
    s.turn = body.turn;
    skids.run();
    const into = body.in;
    into.fx = rotor.fx + tail.fx + skids.fx;
    into.fy = rotor.fy + tail.fy + skids.fy;
    into.fz = rotor.fz + tail.fz + skids.fz;
    into.mx = rotor.mx + tail.mx + skids.mx;
    into.my = rotor.my + tail.my + skids.my;
    into.mz = rotor.mz + tail.mz + skids.mz;
    into.mass = fuel.mass;
    into.ixx = empty.ixx + 0.2 * (fuel.mass - empty.mass);
    into.iyy = empty.iyy + 0.9 * (fuel.mass - empty.mass);
    into.izz = empty.izz + 0.8 * (fuel.mass - empty.mass);
    body.run(dt);
  }

  /** Oil, fuel, electricity, vibration. */
  private serve(): void {
    const { gearbox, fuel, electrics, vibration, drive, engine, body, rotor, air, governor, actuators } = this;
    gearbox.in.power = drive.shaftTorque * drive.rotorSpeed;
    gearbox.in.nr = this.nr;
    gearbox.in.headwind = this.airU;
    gearbox.in.ambientK = air.temperature;
    gearbox.run(dt);
    fuel.in.flow = engine.burning;
    fuel.in.transfer = this.pilot.engine !== 'off' && governor.mode >= 2;
    fuel.run(dt);
    electrics.in.n1 = engine.n1;
    electrics.in.starter = governor.starter;
    electrics.in.actuators = 0;
    for (let i = 0; i < ACTUATORS; i++) electrics.in.actuators += actuators.current[i]!;
    electrics.run(dt);
    this.instrumentation.run(dt, electrics, air.temperature);
    if (engine.lit) this.runningSeconds += dt;
    const v = vibration.in;
    v.azimuth = drive.azimuth;
    v.speed = drive.rotorSpeed;
    v.airspeedKt = Math.hypot(this.airU, this.airV) / KNOT;
    v.thrust = rotor.thrust;
    v.nz = body.nz;
    v.bladeLoading = rotor.bladeLoading;
    v.torque = drive.shaftTorque;
    v.tailThrust = this.tail.thrust;
    vibration.run(dt);
  }
}
