/**
 * Shunt calibration of the strain-gauge channels: a resistor switched beside one arm of the bridge, which looks like a load.
 * The loads are those of the invented strain rig sheet 7, with the supply at its nominal 10 V; they go with the supply.
 */
const STEPS: Record<string, number> = {
  PITCH_LINK: 900,
  MAST_BEND: 1200,
  MAST_TORQUE: 3000,
  BLADE_FLAP: 500,
  BLADE_CHORD: 1000,
  BOOM_BEND: 1000,
  BOOM_TORSION: 500,
};

/** Channels that have a shunt, in the order they are switched in. */
export const shuntNames: readonly string[] = Object.keys(STEPS);

/** What the shunt of a channel looks like, in its unit; `supply` of the bridges in V. 0 for a channel that has none. */
export const shuntStep = (channel: string, supply: number): number => ((STEPS[channel] ?? 0) * supply) / 10;
