/** Lines and half planes cut to a rectangle, for shapes that must not leave their place. */

export interface Box {
  x: number;
  y: number;
  width: number;
  height: number;
}

/**
 * The part of the line from (x0, y0) to (x1, y1) inside the box, written to `out` as x0, y0, x1, y1.
 * False when nothing of it is inside. Liang and Barsky's way: the line's parameter, cut by each of four edges.
 */
export function clipLine(box: Box, x0: number, y0: number, x1: number, y1: number, out: Float64Array): boolean {
  const dx = x1 - x0;
  const dy = y1 - y0;
  let enter = 0;
  let leave = 1;
  const edges = [
    [-dx, x0 - box.x],
    [dx, box.x + box.width - x0],
    [-dy, y0 - box.y],
    [dy, box.y + box.height - y0],
  ] as const;
  for (const [p, q] of edges) {
    if (p === 0) {
      if (q < 0) return false;
    } else if (p < 0) enter = Math.max(enter, q / p);
    else leave = Math.min(leave, q / p);
  }
  if (enter > leave) return false;
  out[0] = x0 + enter * dx;
  out[1] = y0 + enter * dy;
  out[2] = x0 + leave * dx;
  out[3] = y0 + leave * dy;
  return true;
}

/**
 * The part of the box where nx (x - px) + ny (y - py) >= 0, as a convex polygon written to `out` (x, y pairs).
 * Gives the number of corners, 0 when nothing is left. `out` needs room for 6 corners.
 */
export function clipBox(box: Box, px: number, py: number, nx: number, ny: number, out: Float64Array): number {
  const corners = [
    [box.x, box.y],
    [box.x + box.width, box.y],
    [box.x + box.width, box.y + box.height],
    [box.x, box.y + box.height],
  ] as const;
  let count = 0;
  for (let i = 0; i < 4; i++) {
    const [ax, ay] = corners[i] as readonly [number, number];
    const [bx, by] = corners[(i + 1) % 4] as readonly [number, number];
    const a = nx * (ax - px) + ny * (ay - py);
    const b = nx * (bx - px) + ny * (by - py);
    if (a >= 0) {
      out[2 * count] = ax;
      out[2 * count + 1] = ay;
      count += 1;
    }
    if (a >= 0 !== b >= 0) {
      const t = a / (a - b);
      out[2 * count] = ax + t * (bx - ax);
      out[2 * count + 1] = ay + t * (by - ay);
      count += 1;
    }
  }
  return count;
}

/** Diagonal lines `step` apart that fill a box, each handed to `line`. Pinned to the page, so that boxes side by side agree. */
export function hatchLines(
  box: Box,
  step: number,
  line: (x0: number, y0: number, x1: number, y1: number) => void,
  out = new Float64Array(4),
): void {
  const { x, y, width, height } = box;
  const first = Math.ceil((x + y) / step);
  const last = Math.floor((x + width + y + height) / step);
  for (let k = first; k <= last; k++) {
    const sum = k * step;
    // the line x + y = sum, rising to the right
    if (clipLine(box, sum - y - height, y + height, sum - y, y, out))
      line(out[0] as number, out[1] as number, out[2] as number, out[3] as number);
  }
}
