/**
 * Height-velocity, vortex ring, low g, containment and mass the slow, obvious way: every formula written out anew, in SI
 * units, without tables or shortcuts, by searching and stepping where a closed form would do.
 */

/**
 * Whether a polygon goes round a point: the sum of the angles its sides are seen under makes full turns. Where its sides
 * cross each other, what they go round twice is outside.
 */
export function goesRound(corners: readonly (readonly [number, number])[], x: number, y: number): boolean {
  let turned = 0;
  corners.forEach(([ax, ay], i) => {
    const [bx, by] = corners[(i + 1) % corners.length] as readonly [number, number];
    // angle between the two directions, by their cross and dot products
    const cross = (ax - x) * (by - y) - (ay - y) * (bx - x);
    const dot = (ax - x) * (bx - x) + (ay - y) * (by - y);
    turned += Math.atan2(cross, dot);
  });
  return Math.round(turned / (2 * Math.PI)) % 2 !== 0;
}

/** Air density, kg/m3, at a height of the standard atmosphere, m: the hydrostatic equation in small steps. */
export function densityAt(height: number): number {
  const steps = 2000;
  let pressure = 101_325;
  const temperature = (h: number) => 288.15 - 0.0065 * h;
  for (let k = 0; k < steps; k++) {
    const middle = ((k + 0.5) / steps) * height;
    pressure *= Math.exp((-9.80665 * (height / steps)) / (287.05287 * temperature(middle)));
  }
  return pressure / (287.05287 * temperature(height));
}

/** Induced velocity in the hover, m/s: the momentum of the air that goes through the disc carries the weight. */
export function hoverVelocity(mass: number, height: number, radius: number): number {
  let [low, high] = [0, 100];
  for (let k = 0; k < 60; k++) {
    const v = (low + high) / 2;
    // thrust = mass of air a second through the disc, times the speed it has far below, 2 v
    const thrust = densityAt(height) * Math.PI * radius ** 2 * v * (2 * v);
    if (thrust < mass * 9.80665) low = v;
    else high = v;
  }
  return low;
}

/** Mass and centre of gravity of parts of mass and arm. */
export function balance(parts: readonly (readonly [mass: number, arm: number])[]): { mass: number; centre: number } {
  let [mass, moment] = [0, 0];
  for (const [m, arm] of parts) {
    mass += m;
    moment += m * arm;
  }
  return { mass, centre: moment / mass };
}

/** Seconds of burning, in steps, until something is so; `longest` when it never is while there is fuel. */
export function burnUntil(contents: number, flow: number, isSo: (left: number) => boolean, longest: number): number {
  const step = 1;
  for (let t = 0; t * flow <= contents && t <= longest; t += step) if (isSo(contents - t * flow)) return t;
  return longest;
}
