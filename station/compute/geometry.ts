/** Positions on the WGS 84 ellipsoid: C. F. F. Karney, Algorithms for geodesics, J. Geodesy 87 (2013). */
import geodesic from 'geographiclib-geodesic';
import type { Boundary } from '../../protocol/table.ts';

const { DISTANCE, AZIMUTH } = geodesic.Geodesic;

/** Length (m) of the shortest line between two positions in degrees; NaN for a latitude beyond 90 degrees. */
export const distanceBetween = (latitude1: number, longitude1: number, latitude2: number, longitude2: number): number =>
  geodesic.Geodesic.WGS84.Inverse(latitude1, longitude1, latitude2, longitude2, DISTANCE).s12 ?? Number.NaN;

/** True track (degrees, 0 to 360) in which that line leaves the first position. */
export function trackBetween(latitude1: number, longitude1: number, latitude2: number, longitude2: number): number {
  const azimuth = geodesic.Geodesic.WGS84.Inverse(latitude1, longitude1, latitude2, longitude2, AZIMUTH).azi1;
  if (azimuth === undefined) return Number.NaN;
  return azimuth < 0 ? azimuth + 360 : azimuth;
}

/** How far a boundary is, as seen from any position near it. */
export interface BoundaryView {
  /** distance to the nearest side, m; negative on the wrong side */
  distance(latitude: number, longitude: number): number;
  /** seconds until the boundary is crossed, straight on along the track (degrees) at this ground speed (m/s) */
  time(latitude: number, longitude: number, track: number, groundSpeed: number): number;
  /**
   * Distance to the nearest side, m, from the point that lies `away` metres off the position towards `towards` (degrees);
   * negative on the wrong side.
   */
  distanceFrom(latitude: number, longitude: number, towards: number, away: number): number;
}

/** The longest time to a boundary that is told, s: also where none is ahead. */
export const LONGEST_TIME = 3600;

const degree = Math.PI / 180;

/**
 * A boundary in the plane that keeps distances and directions from its middle (azimuthal equidistant), by geodesics.
 * Lengths across are true to 1 in 10,000 within 150 km of the middle. Sides are geodesics, not parallels of latitude: halfway
 * along 28 km from west to east at 50 degrees they differ by 19 m.
 */
export function boundaryView({ points, keep }: Boundary): BoundaryView {
  const middle = middleOf(points);
  const corners = points.map(([latitude, longitude]) => inPlane(middle, latitude, longitude));
  const xs = Float64Array.from(corners, ({ x }) => x);
  const ys = Float64Array.from(corners, ({ y }) => y);
  const right = keep === 'inside';
  return {
    distance(latitude, longitude) {
      const { x, y } = inPlane(middle, latitude, longitude);
      const distance = distanceTo(xs, ys, x, y);
      return isInside(xs, ys, x, y) === right ? distance : -distance;
    },
    distanceFrom(latitude, longitude, towards, away) {
      const { x, y, turn } = inPlane(middle, latitude, longitude);
      const angle = (towards + turn) * degree;
      const [atX, atY] = [x + away * Math.sin(angle), y + away * Math.cos(angle)];
      const distance = distanceTo(xs, ys, atX, atY);
      return isInside(xs, ys, atX, atY) === right ? distance : -distance;
    },
    time(latitude, longitude, track, groundSpeed) {
      const { x, y, turn } = inPlane(middle, latitude, longitude);
      if (!Number.isFinite(x + y + track + groundSpeed)) return Number.NaN;
      if (isInside(xs, ys, x, y) !== right) return 0;
      const angle = (track + turn) * degree;
      return timeTo(xs, ys, x, y, groundSpeed * Math.sin(angle), groundSpeed * Math.cos(angle));
    },
  };
}

type Position = readonly [latitude: number, longitude: number];

function middleOf(points: readonly Position[]): Position {
  const [, first] = points[0] as Position;
  let north = 0;
  let east = 0;
  for (const [latitude, longitude] of points) {
    north += latitude / points.length;
    // longitudes as seen from the first corner: a boundary may cross the 180th meridian
    east += (longitude - first - 360 * Math.round((longitude - first) / 360)) / points.length;
  }
  return [north, first + east];
}

/** East and north of the middle, m, and what turns a direction at that position into one of the plane, degrees. */
function inPlane([latitude, longitude]: Position, toLatitude: number, toLongitude: number) {
  const line = geodesic.Geodesic.WGS84.Inverse(latitude, longitude, toLatitude, toLongitude, DISTANCE | AZIMUTH);
  const { s12: length = Number.NaN, azi1: away = 0, azi2: there = 0 } = line;
  return { x: length * Math.sin(away * degree), y: length * Math.cos(away * degree), turn: away - there };
}

/**
 * Whether a point is inside a closed line of corners (xs, ys), by the number of sides that a line towards greater x
 * crosses. On a side: inside on those of least x, and on the lower end of others.
 */
export function isInside(xs: Float64Array, ys: Float64Array, x: number, y: number): boolean {
  let inside = false;
  for (let i = 0, j = xs.length - 1; i < xs.length; j = i++) {
    const [yi, yj] = [ys[i] as number, ys[j] as number];
    if (yi > y === yj > y) continue;
    const at = (xs[i] as number) + (((xs[j] as number) - (xs[i] as number)) * (y - yi)) / (yj - yi);
    if (x < at) inside = !inside;
  }
  return inside;
}

/**
 * Way along y from a point to the nearest side straight above or below it; negative inside the closed line. Infinity where
 * no side is above or below.
 */
export function gapAlongY(xs: Float64Array, ys: Float64Array, x: number, y: number): number {
  let least = Number.POSITIVE_INFINITY;
  for (let i = 0, j = xs.length - 1; i < xs.length; j = i++) {
    const [ax, ay, bx, by] = [xs[j] as number, ys[j] as number, xs[i] as number, ys[i] as number];
    if (x < Math.min(ax, bx) || x > Math.max(ax, bx)) continue;
    // of a side that stands upright the nearest of its points counts
    const [low, high] = ax === bx ? [Math.min(ay, by), Math.max(ay, by)] : lineAt(ax, ay, bx, by, x);
    least = Math.min(least, Math.max(low - y, y - high, 0));
  }
  return isInside(xs, ys, x, y) ? -least : least;
}

function lineAt(ax: number, ay: number, bx: number, by: number, x: number): [number, number] {
  const at = ay + ((by - ay) * (x - ax)) / (bx - ax);
  return [at, at];
}

/**
 * The first two sides of a closed line of corners that meet where they should not: cross, touch, or lie on each other. A side
 * is named by the corner it begins at; undefined where there are none.
 */
export function crossingSides(corners: readonly (readonly [number, number])[]): [number, number] | undefined {
  const count = corners.length;
  const corner = (i: number) => corners[i % count] as readonly [number, number];
  for (let second = 0; second < count; second++) {
    for (let first = 0; first < second; first++) {
      const [a, b, c, d] = [corner(first), corner(first + 1), corner(second), corner(second + 1)];
      // neighbours share a corner, and meet elsewhere too where one runs back along the other
      if (
        second === first + 1
          ? runsBack(a, b, d)
          : first === 0 && second === count - 1
            ? runsBack(c, d, b)
            : meet(a, b, c, d)
      )
        return [first, second];
    }
  }
  return undefined;
}

type Point = readonly [number, number];

/** Twice the area of a triangle: above 0 when r is left of the way from p to q, 0 when it is on that line. */
const turn = (p: Point, q: Point, r: Point): number => (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]);

/** Whether the way from p to q to r turns round on itself at q, or stands still. */
const runsBack = (p: Point, q: Point, r: Point): boolean =>
  turn(p, q, r) === 0 && (q[0] - p[0]) * (r[0] - q[0]) + (q[1] - p[1]) * (r[1] - q[1]) <= 0;

function meet(a: Point, b: Point, c: Point, d: Point): boolean {
  const [ofC, ofD, ofA, ofB] = [turn(a, b, c), turn(a, b, d), turn(c, d, a), turn(c, d, b)].map(Math.sign);
  if (ofC === 0 && ofD === 0) return overlap(a[0], b[0], c[0], d[0]) && overlap(a[1], b[1], c[1], d[1]);
  return (ofC as number) * (ofD as number) <= 0 && (ofA as number) * (ofB as number) <= 0;
}

const overlap = (a: number, b: number, c: number, d: number): boolean =>
  Math.max(Math.min(a, b), Math.min(c, d)) <= Math.min(Math.max(a, b), Math.max(c, d));

function distanceTo(xs: Float64Array, ys: Float64Array, x: number, y: number): number {
  let least = Number.POSITIVE_INFINITY;
  for (let i = 0, j = xs.length - 1; i < xs.length; j = i++) {
    const [ax, ay] = [xs[j] as number, ys[j] as number];
    const [ex, ey] = [(xs[i] as number) - ax, (ys[i] as number) - ay];
    const along = ((x - ax) * ex + (y - ay) * ey) / (ex * ex + ey * ey);
    const share = Math.min(1, Math.max(0, along));
    const [dx, dy] = [x - ax - share * ex, y - ay - share * ey];
    least = Math.min(least, dx * dx + dy * dy);
  }
  return Math.sqrt(least);
}

/** Seconds until a point that moves at (vx, vy) meets a side. */
function timeTo(xs: Float64Array, ys: Float64Array, x: number, y: number, vx: number, vy: number): number {
  let least = LONGEST_TIME;
  for (let i = 0, j = xs.length - 1; i < xs.length; j = i++) {
    const [ax, ay] = [(xs[j] as number) - x, (ys[j] as number) - y];
    const [ex, ey] = [(xs[i] as number) - (xs[j] as number), (ys[i] as number) - (ys[j] as number)];
    const across = vx * ey - vy * ex;
    if (across === 0) continue;
    const time = (ax * ey - ay * ex) / across;
    const place = (ax * vy - ay * vx) / across;
    if (time >= 0 && place >= 0 && place <= 1) least = Math.min(least, time);
  }
  return least;
}
