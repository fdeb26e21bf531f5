/**
 * The telemetry set on board: samples every rate group of the mission at its instants and packs a frame every 20 ms.
 * Groups of less than 50 samples a second appear only in the frames where their samples fall, each group shifted
 * against the others so that they do not all fall into one frame. With the demonstration mission a frame has about
 * 1,150 bytes, so the datagram fits an Ethernet packet.
 */
import { type Mission, wireOrder } from '../../protocol/mission.ts';
import { type CountFormat, formatBytes } from '../../protocol/parameter.ts';
import { encodeFrame, type RateGroupSamples } from '../../protocol/wire.ts';
import { Aircraft, STEP_US } from './aircraft.ts';
import type { Scenario } from './scenario.ts';
import { type Sensor, sensorFor } from './sensors.ts';

/** Microseconds from frame to frame. */
export const FRAME_US = 20_000;
const STEPS_A_FRAME = FRAME_US / STEP_US;

export interface TelemetrySettings {
  mission: Mission;
  scenario: Scenario;
  seed: number;
  /** aircraft time of the first frame, microseconds since the Unix epoch */
  startUs: number;
}

/** One rate group as it is sampled and packed. */
interface Group {
  number: number;
  /** steps from sample to sample, and the step of the first sample */
  every: number;
  first: number;
  sensors: Sensor[];
  formats: CountFormat[];
  /** counts, parameter after parameter, `most` places each */
  counts: Float64Array;
  most: number;
  taken: number;
  /** step within the frame of the first sample taken */
  at: number;
  bytes: ArrayBuffer;
}

export class Telemetry {
  readonly aircraft: Aircraft;
  private readonly mission: Mission;
  private readonly startUs: number;
  private readonly groups: Group[];
  private frames = 0;

  constructor({ mission, scenario, seed, startUs }: TelemetrySettings) {
    this.mission = mission;
    this.startUs = startUs;
    this.aircraft = new Aircraft(scenario, seed);
    this.aircraft.startMillis = Math.floor(startUs / 1000);
    this.groups = mission.groups.flatMap((group, number) => {
      const parameters = wireOrder(mission, group.id);
      if (parameters.length === 0) return [];
      const every = 1e6 / STEP_US / group.rate;
      if (!Number.isInteger(every))
        throw new Error(`the rehearsal aircraft cannot sample ${group.id} ${group.rate} times a second`);
      const most = Math.ceil(STEPS_A_FRAME / every);
      const width = parameters.reduce((sum, p) => sum + formatBytes[p.format!], 0);
      return {
        number,
        every,
        first: every > STEPS_A_FRAME ? (number * STEPS_A_FRAME) % every : 0,
        sensors: parameters.map((parameter) => sensorFor(mission, parameter, seed, scenario.injections)),
        formats: parameters.map((parameter) => parameter.format!),
        counts: new Float64Array(parameters.length * most),
        most,
        taken: 0,
        at: 0,
        bytes: new ArrayBuffer(most * width),
      };
    });
  }

  /** Flies on for 20 ms and returns the frame of that time. */
  frame(): Uint8Array {
    const { aircraft, groups } = this;
    for (const group of groups) group.taken = 0;
    for (let step = 0; step < STEPS_A_FRAME; step++) {
      aircraft.step();
      for (const group of groups)
        if ((aircraft.steps - 1 - group.first) % group.every === 0) sample(group, aircraft, step);
    }
    const { stream, aircraft: ids } = this.mission;
    const frame = encodeFrame({
      stream,
      frameCounter: this.frames,
      timeUs: this.startUs + this.frames * FRAME_US,
      softwareId: ids.softwareId,
      configurationId: ids.configurationId,
      groups: groups.filter((group) => group.taken > 0).map(packed),
    });
    this.frames++;
    return frame;
  }
}

function sample(group: Group, aircraft: Aircraft, step: number): void {
  const { sensors, counts, most, taken } = group;
  if (taken === 0) group.at = step;
  for (let i = 0; i < sensors.length; i++) counts[i * most + taken] = sensors[i]!(aircraft);
  group.taken++;
}

/** Writes the counts taken into the group's bytes, column by column, little-endian as every column on the wire. */
function packed(group: Group): RateGroupSamples {
  const { formats, counts, most, taken, bytes } = group;
  const view = new DataView(bytes);
  let at = 0;
  for (let i = 0; i < formats.length; i++) {
    const format = formats[i]!;
    const width = formatBytes[format];
    for (let j = 0; j < taken; j++) {
      put[format](view, at, counts[i * most + j]!);
      at += width;
    }
  }
  const none = new Uint8Array(0);
  return {
    group: group.number,
    samples: taken,
    offsetUs: group.at * STEP_US,
    columns: new Uint8Array(bytes, 0, at),
    sampleOffsetsUs: none,
  } as RateGroupSamples;
}

const put: Record<CountFormat, (view: DataView, at: number, counts: number) => void> = {
  u8: (view, at, counts) => view.setUint8(at, counts),
  i8: (view, at, counts) => view.setInt8(at, counts),
  u16: (view, at, counts) => view.setUint16(at, counts, true),
  i16: (view, at, counts) => view.setInt16(at, counts, true),
  u32: (view, at, counts) => view.setUint32(at, counts, true),
  i32: (view, at, counts) => view.setInt32(at, counts, true),
  f32: (view, at, counts) => view.setFloat32(at, counts, true),
  f64: (view, at, counts) => view.setFloat64(at, counts, true),
};
