/** Angles that go round. */

/** Degrees from -180 to below 180; a value that is there already stays as it is, bit for bit. */
export function wrap(degrees: number): number {
  if (degrees >= -180 && degrees < 180) return degrees;
  const turned = degrees - 360 * Math.floor((degrees + 180) / 360);
  // a value a hair below -180 comes out as 180 when it is rounded
  return turned < 180 ? turned : -180;
}

/** Degrees from 0 to below 360; a value that is there already stays as it is, bit for bit. */
export function fullTurn(degrees: number): number {
  if (degrees >= 0 && degrees < 360) return degrees;
  const turned = degrees - 360 * Math.floor(degrees / 360);
  // a value a hair below 0 comes out as 360 when it is rounded
  return turned < 360 ? turned : 0;
}
