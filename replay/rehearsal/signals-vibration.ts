/** Vibration and loads, 1,000 samples a second. */
import type { Signals } from './signal.ts';

export const vibrationSignals: Signals = {
  VIB_SEAT_X: { unit: 'g', noise: 0.006, read: (a) => a.body.nx + a.vibration.seat[0]! },
  VIB_SEAT_Y: { unit: 'g', noise: 0.006, read: (a) => a.body.ny + a.vibration.seat[1]! },
  VIB_SEAT_Z: { unit: 'g', noise: 0.008, read: (a) => a.body.nz + a.vibration.seat[2]! },
  VIB_MGB_X: { unit: 'g', noise: 0.03, read: (a) => a.body.nx + a.vibration.gearbox[0]! },
  VIB_MGB_Y: { unit: 'g', noise: 0.03, read: (a) => a.body.ny + a.vibration.gearbox[1]! },
  VIB_MGB_Z: { unit: 'g', noise: 0.03, read: (a) => a.body.nz + a.vibration.gearbox[2]! },
  VIB_TGB_Y: { unit: 'g', noise: 0.04, read: (a) => a.body.ny + a.vibration.tailLateral },
  VIB_TGB_Z: { unit: 'g', noise: 0.04, read: (a) => a.body.nz + a.vibration.tailVertical },
  PITCH_LINK: { unit: 'N', noise: 6, read: (a) => a.vibration.pitchLink },
  MAST_BEND: { unit: 'N m', noise: 8, read: (a) => a.vibration.mastBending },
  MAST_TORQUE: { unit: 'N m', noise: 25, read: (a) => a.vibration.mastTorque },
  BLADE_FLAP: { unit: 'N m', noise: 4, read: (a) => a.vibration.flapBending },
  BLADE_CHORD: { unit: 'N m', noise: 5, read: (a) => a.vibration.chordBending },
  BOOM_BEND: { unit: 'N m', noise: 6, read: (a) => a.vibration.boomBending },
  BOOM_TORSION: { unit: 'N m', noise: 6, read: (a) => a.vibration.boomTorsion },
  AZIMUTH: { unit: 'deg', noise: 0, read: (a) => (a.drive.azimuth * 180) / Math.PI },
};
