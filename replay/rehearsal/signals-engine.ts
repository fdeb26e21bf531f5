/** Oil, fuel, electricity and temperatures, 10 samples a second; the telemetry set itself, once a second. */
import type { Signal, Signals } from './signal.ts';

const celsius = (noise: number, read: Signal['read']): Signal => ({
  unit: 'degC',
  noise,
  read: (a) => read(a) - 273.15,
});
const actuatorTemperature = (i: number): Signal => celsius(0.15, (a) => a.actuators.temperatureK[i]!);
const computerTemperature = (extra: number): Signal => celsius(0.2, (a) => a.instrumentation.crateK + extra);
const switches = ['off', 'start', 'idle', 'fly'];

export const engineSignals: Signals = {
  MGB_OIL_TEMP: celsius(0.1, (a) => a.gearbox.oilK),
  MGB_OIL_PRESS: { unit: 'bar', noise: 0.02, read: (a) => a.gearbox.oilPressure },
  TGB_OIL_TEMP: celsius(0.15, (a) => a.air.temperature + 0.42 * (a.gearbox.oilK - a.air.temperature)),
  ENG_OIL_TEMP: celsius(0.15, (a) => a.engine.oilK),
  ENG_OIL_PRESS: { unit: 'bar', noise: 0.03, read: (a) => a.engine.oilPressure },
  P3: { unit: 'bar', noise: 0.01, read: (a) => (a.engine.pressureRatio * a.air.pressure) / 1e5 },
  FUEL_FWD: { unit: 'kg', noise: 0.25, read: (a) => a.fuel.forward },
  FUEL_AFT: { unit: 'kg', noise: 0.25, read: (a) => a.fuel.aft },
  FUEL_USED: { unit: 'kg', noise: 0, read: (a) => a.fuel.used },
  FUEL_PRESS: { unit: 'bar', noise: 0.01, read: (a) => (a.pilot.engine === 'off' ? 0.02 : 0.82) },
  FUEL_TRANSFER: { unit: 'kg/h', noise: 0.5, read: (a) => a.fuel.transferFlow * 3600 },
  ENGINE_MODE: { unit: '1', noise: 0, read: (a) => a.governor.mode },
  ENGINE_SWITCH: { unit: '1', noise: 0, read: (a) => switches.indexOf(a.pilot.engine) },
  GOVERNOR_REF: { unit: '%', noise: 0, read: (a) => a.governor.reference * 100 },
  BUS_A: { unit: 'V', noise: 0.015, read: (a) => a.electrics.busA },
  BUS_B: { unit: 'V', noise: 0.015, read: (a) => a.electrics.busB },
  GEN_AMPS: { unit: 'A', noise: 0.3, read: (a) => a.electrics.generatorAmps },
  BATT_AMPS: { unit: 'A', noise: 0.3, read: (a) => a.electrics.batteryAmps },
  BATT_TEMP: celsius(0.1, (a) => a.electrics.batteryK),
  ACT1_TEMP: actuatorTemperature(0),
  ACT2_TEMP: actuatorTemperature(1),
  ACT3_TEMP: actuatorTemperature(2),
  ACT4_TEMP: actuatorTemperature(3),
  FCC_A_TEMP: computerTemperature(4),
  FCC_B_TEMP: computerTemperature(5.5),
  FCC_C_TEMP: computerTemperature(4.7),
  GPS_TIME: { unit: 'ms', noise: 0, read: (a) => (a.startMillis + a.steps) % (7 * 86_400_000) },
  GPS_SATELLITES: { unit: '1', noise: 0, read: (a) => 11 - (Math.abs(a.body.roll) > 0.3 ? 2 : 0) },
  TX_TEMP: celsius(0.2, (a) => a.instrumentation.transmitterK),
  TX_POWER: { unit: 'W', noise: 0.02, read: (a) => a.instrumentation.transmitted },
  TX_REFLECTED: { unit: 'W', noise: 0.01, read: (a) => a.instrumentation.reflected },
  SET_VOLTS: { unit: 'V', noise: 0.01, read: (a) => a.instrumentation.supply },
  SET_AMPS: { unit: 'A', noise: 0.02, read: (a) => a.instrumentation.drawn },
  SET_TEMP: celsius(0.1, (a) => a.instrumentation.crateK),
  RECORDER: { unit: '1', noise: 0, read: () => 1 },
  RECORDER_FREE: { unit: '%', noise: 0, read: (a) => a.instrumentation.recorderFree * 100 },
  AIRFRAME_HOURS: { unit: 'h', noise: 0, read: (a) => 412.6 + a.runningSeconds / 3600 },
  STRAIN_SUPPLY: { unit: 'V', noise: 0.001, read: (a) => a.instrumentation.bridgeSupply },
};
