/**
 * Where the horizon stands in an attitude picture, seen from the cockpit: pitch up brings the horizon down, a roll to
 * the right turns it to the left. Degrees in, pixels out, y down.
 */
export interface Horizon {
  /** a point of the horizon line, straight above or below the centre in aircraft axes */
  x: number;
  y: number;
  /** along the horizon, to the right */
  ux: number;
  uy: number;
  /** from the horizon to the ground */
  nx: number;
  ny: number;
}

export function horizonOf(cx: number, cy: number, pitch: number, roll: number, pixelsPerDegree: number): Horizon {
  const angle = (-roll * Math.PI) / 180;
  const ux = Math.cos(angle);
  const uy = Math.sin(angle);
  const nx = -uy;
  const ny = ux;
  const down = pitch * pixelsPerDegree;
  return { x: cx + nx * down, y: cy + ny * down, ux, uy, nx, ny };
}
