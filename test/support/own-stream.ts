/**
 * A stream of another make, for tests: its `.proto` in old syntax with an import in new one, and the mission folder that
 * reads it. Nested and repeated messages, enums, oneof, a map, a list whose elements bring their own time.
 */
import { type MissionFiles, missionFolder } from './mission-folder.ts';

export const ownFiles = {
  'bus/rotorcraft.proto': `// What the bus of the invented aircraft sends, fifty times a second.
syntax = "proto2";
package harrowmoss.bus;

import "bus/parts.proto";
import "google/protobuf/timestamp.proto";

message Snapshot {
  required string tail = 1;
  required fixed32 count = 2;
  required google.protobuf.Timestamp at = 3;
  optional Rotor rotor = 4;
  repeated parts.Engine engines = 5;
  map<string, float> tanks = 6;
  oneof air {
    AirData probe = 7;
    string fault = 8;
  }
  repeated group Burst = 9 {
    required uint32 after_us = 1;
    required sint32 lateral = 2;
    optional float strain = 3;
  }
  optional parts.GearState gear = 10 [default = DOWN];
  optional Build build = 11;
  optional fixed32 discretes = 12;

  message Rotor {
    required double nr = 1;
  }
  message AirData {
    optional double ias = 1;
  }
  message Build {
    optional string software = 1;
    optional string configuration = 2;
  }
}
`,
  'bus/parts.proto': `syntax = "proto3";
package harrowmoss.bus.parts;

message Engine {
  float torque = 1;
  Mode mode = 2;
  enum Mode {
    OFF = 0;
    IDLE = 1;
    FLIGHT = 5;
  }
}

enum GearState {
  GEAR_UNKNOWN = 0;
  UP = 1;
  DOWN = 2;
}
`,
  'stream.yaml': `proto: bus/rotorcraft.proto
message: harrowmoss.bus.Snapshot
time: {field: at}
sequence: {field: count}
must equal: {field: tail, value: HM-3}
software id: build.software
configuration id: build.configuration
fields:
  NR: rotor.nr
  TORQUE_2: engines[1].torque
  MODE_2: engines[1].mode
  FUEL: tanks["aft main"]
  IAS: probe.ias
  GEAR: gear
  LATERAL: burst[].lateral
  STRAIN: burst[].strain
  DISCRETES: discretes
times:
  burst: {field: "burst[].after_us", unit: us, from: message}
`,
  'mission.yaml': `name: Own stream
stream: HM3
aircraft: {name: Harrowmoss three, software id: BUS-2, configuration id: HM3-A}
receivers: []
people:
  - {id: td, name: Ines Arkwright, position: test director}
words: {class 1: [KNOCK IT OFF], class 2: [STOP TEST]}
`,
  'parameters.yaml': `groups:
  - {id: main, rate: 50}
  - {id: engine, rate: 50}
  - {id: gear, rate: 50}
  - {id: bits, rate: 50}
  - {id: burst, rate: none, stale after: 1 s}
parameters:
  - {id: NR, name: Rotor speed, unit: "%", group: main, range: [0, 130], decimals: 1}
  - {id: FUEL, name: Fuel aft, unit: kg, group: main, decimals: 0}
  - {id: IAS, name: Indicated airspeed, unit: kt, group: main, decimals: 0}
  - {id: TORQUE_2, name: Torque two, unit: "%", group: engine, calibration: {polynomial: [0, 0.5], source: sheet 4}}
  - {id: MODE_2, name: Mode of engine two, unit: "1", group: engine, calibration: {states: {0: "off", 1: idle, 5: flight}}}
  - {id: GEAR, name: Gear, unit: "1", group: gear, calibration: {states: {0: unknown, 1: up, 2: down}}}
  - {id: LATERAL, name: Lateral acceleration, unit: m/s^2, group: burst, calibration: {polynomial: [0, 0.001], source: sheet 5}}
  - {id: STRAIN, name: Strain, unit: "1", group: burst}
  - {id: DISCRETES, name: Discrete word, unit: "1", group: bits}
  - {id: DOOR, name: Door, unit: "1", group: bits, calibration: {bits: {word: DISCRETES, shift: 31, width: 1, states: {0: shut, 1: open}}}}
`,
  'derived.yaml': `derived:
  - {id: NR_SPARE, name: Rotor speed to spare, unit: "%", driven by: NR, formula: "NR - 95[%]", decimals: 1}
`,
  'limits.yaml': `limits:
  - id: nr-low
    parameter: NR
    below: {caution: 97, warning: 95}
    first action: "NR low: collective down"
    watcher: rotor and loads
    time to consequence: 5 s
    source: test limits, issue 1
`,
  'pages.yaml': `pages:
  - id: all
    title: All of it
    rows:
      - height: 0.5
        elements:
          - {kind: number, parameters: [NR], width: 0.2}
          - {kind: number, parameters: [NR_SPARE], width: 0.2}
          - {kind: number, parameters: [FUEL], width: 0.2}
          - {kind: number, parameters: [TORQUE_2], width: 0.2}
          - {kind: number, parameters: [LATERAL], width: 0.2}
      - height: 0.5
        elements:
          - {kind: states, parameters: [MODE_2, GEAR, DOOR]}
`,
};

export const ownStreamFolder = (changed: MissionFiles = {}): string => missionFolder({ ...ownFiles, ...changed });
