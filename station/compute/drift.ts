/** A straight line through points that come one after the other, by least squares, in running sums about the mean. Plain data. */

export interface Line {
  n: number;
  meanX: number;
  meanY: number;
  xx: number;
  xy: number;
  yy: number;
}

export const noLine = (): Line => ({ n: 0, meanX: 0, meanY: 0, xx: 0, xy: 0, yy: 0 });

export function addPoint(line: Line, x: number, y: number): void {
  line.n++;
  const dx = x - line.meanX;
  const dy = y - line.meanY;
  line.meanX += dx / line.n;
  line.meanY += dy / line.n;
  line.xx += dx * (x - line.meanX);
  line.xy += dx * (y - line.meanY);
  line.yy += dy * (y - line.meanY);
}

/** Slope and its standard error, in y per x; undefined for fewer than three points, or all of one x. */
export function slopeOf({ n, xx, xy, yy }: Line): { slope: number; error: number } | undefined {
  if (n < 3 || xx <= 0) return undefined;
  const slope = xy / xx;
  const rest = Math.max(0, yy - slope * xy);
  return { slope, error: Math.sqrt(rest / (n - 2) / xx) };
}
