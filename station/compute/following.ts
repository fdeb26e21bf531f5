/**
 * How a position follows its command: by which delay best, and with which hysteresis. Both out of running sums, sample by
 * sample, so that nothing depends on batches. Plain data that survives a structured clone.
 */

/** Samples that the position is held back by, so that a delay of zero has neighbours on both sides. */
const BACK = 2;
/** Terms of the fit for the hysteresis: constant, direction, rate, acceleration. */
const TERMS = 4;
/** Slower than this share of travel a second the direction of a movement means nothing. */
const MOVES = 0.02;
/** The command has turned when it has come back by this share of travel. */
const TURNED = 0.003;
/** Newest pairs in a row that the fit for the hysteresis looks at; the delay needs as many as the longest that is looked for. */
const FITTED = 4;
/** From a turn on it must go this share of travel until the play is out: a wider hysteresis is seen narrower than it is. */
const PLAY = 0.06;

export interface Following {
  /** newest commands and positions, in rings: the newest stands at `at` */
  command: Float64Array;
  position: Float64Array;
  at: number;
  /** pairs in a row, since the last gap */
  filled: number;
  /** by lag, beginning at -BACK: sums of position minus command so many samples before it, and of the squares */
  sums: Float64Array;
  squares: Float64Array;
  n: number;
  /** the way the command goes, 1 or -1, 0 = nothing seen; where it last turned; its farthest since */
  way: number;
  turned: number;
  farthest: number;
  /** normal equations of the hysteresis, its right sides, the sum of squares, and how many samples */
  matrix: Float64Array;
  right: Float64Array;
  total: number;
  fitted: number;
}

/** `lags`: the longest delay that is looked for, in samples. */
export function noFollowing(lags: number): Following {
  const size = lags + BACK + 1;
  return {
    command: new Float64Array(size),
    position: new Float64Array(size),
    at: size - 1,
    ...{ filled: 0, n: 0, total: 0, fitted: 0, way: 0, turned: 0, farthest: 0 },
    sums: new Float64Array(size),
    squares: new Float64Array(size),
    matrix: new Float64Array(TERMS * TERMS),
    right: new Float64Array(TERMS),
  };
}

/** Samples are missing: what comes next does not follow on what was. The way it goes is the same after a moment. */
export const breakFollowing = (of: Following): void => {
  of.filled = 0;
};

/** Nothing was seen for so long that it may have turned meanwhile. */
export const loseWay = (of: Following): void => {
  of.way = 0;
};

/** One pair of the same instant, both as shares of travel; `period`: seconds from sample to sample. */
export function follow(of: Following, position: number, command: number, period: number): void {
  const size = of.command.length;
  of.at = of.at + 1 === size ? 0 : of.at + 1;
  of.command[of.at] = command;
  of.position[of.at] = position;
  of.filled++;
  if (of.filled >= size) addDelays(of);
  if (of.filled < FITTED) return;
  const held = aged(of.position, of.at, BACK);
  const [after, here, before] = [aged(of.command, of.at, 1), aged(of.command, of.at, BACK), aged(of.command, of.at, 3)];
  const rate = (after - before) / (2 * period);
  if (turn(of, here) >= PLAY && rate * of.way > MOVES)
    addTo(of, rate, (after - 2 * here + before) / period ** 2, held - here);
}

function addDelays(of: Following): void {
  const size = of.command.length;
  const held = aged(of.position, of.at, BACK);
  for (let age = 0, slot = of.at; age < size; age++, slot = slot === 0 ? size - 1 : slot - 1) {
    const difference = held - (of.command[slot] as number);
    of.sums[age] = (of.sums[age] as number) + difference;
    of.squares[age] = (of.squares[age] as number) + difference * difference;
  }
  of.n++;
}

/** Follows the turns of the command; gives the share of travel it has gone since the last one. */
function turn(of: Following, command: number): number {
  if (of.way === 0) {
    of.way = -1;
    of.turned = of.farthest = command;
  }
  const beyond = (command - of.farthest) * of.way;
  if (beyond > 0) of.farthest = command;
  else if (beyond < -TURNED) {
    of.way = -of.way;
    of.turned = of.farthest;
    of.farthest = command;
  }
  return Math.abs(command - of.turned);
}

const aged = (ring: Float64Array, at: number, age: number): number =>
  ring[at < age ? at - age + ring.length : at - age] as number;

/** Written anew for every sample, so that nothing is made in the loop. */
const terms = new Float64Array(TERMS);

function addTo(of: Following, rate: number, acceleration: number, difference: number): void {
  terms[0] = 1;
  terms[1] = rate > 0 ? 1 : -1;
  terms[2] = rate;
  terms[3] = acceleration;
  for (let row = 0; row < TERMS; row++) {
    const term = terms[row] as number;
    for (let column = 0; column < TERMS; column++) {
      const place = row * TERMS + column;
      of.matrix[place] = (of.matrix[place] as number) + term * (terms[column] as number);
    }
    of.right[row] = (of.right[row] as number) + term * difference;
  }
  of.total += difference * difference;
  of.fitted++;
}

/**
 * The delay in samples at which position and command differ least in scatter (a constant difference does not count), with a
 * parabola through the neighbours; undefined when too little was seen, Infinity when it is longer than was looked for.
 */
export function delayOf({ sums, squares, n }: Following): number | undefined {
  if (n < sums.length) return undefined;
  const scatter = (age: number): number => (squares[age] as number) / n - ((sums[age] as number) / n) ** 2;
  let best = 0;
  for (let age = 1; age < sums.length; age++) if (scatter(age) < scatter(best)) best = age;
  if (best === sums.length - 1) return Infinity;
  if (best === 0) return undefined;
  const [before, here, after] = [scatter(best - 1), scatter(best), scatter(best + 1)];
  const bend = before - 2 * here + after;
  return best - BACK + (bend > 0 ? (before - after) / (2 * bend) : 0);
}

/**
 * Width of the hysteresis as a share of travel, with its standard error: twice the part of position minus command that
 * turns with the direction of movement alone, beside what goes with rate and acceleration, which is delay. Undefined when
 * the movement was too even to tell the two apart, or too little was seen.
 */
export function hysteresisOf({
  matrix,
  right,
  total,
  fitted,
}: Following): { width: number; error: number } | undefined {
  if (fitted < 10 * TERMS) return undefined;
  const solved = solve(matrix, right);
  if (solved === undefined) return undefined;
  const { solution, inverseOfDirection } = solved;
  const explained = solution.reduce((sum, value, k) => sum + value * (right[k] as number), 0);
  const rest = Math.max(0, total - explained) / (fitted - TERMS);
  return { width: -2 * (solution[1] as number), error: 2 * Math.sqrt(rest * inverseOfDirection) };
}

/** Solves the normal equations and gives the place of the direction in the inverse; undefined when they hardly have one. */
function solve(matrix: Float64Array, right: Float64Array) {
  // scaled to a diagonal of ones, so that units do not matter to what counts as hardly
  const scale = Array.from({ length: TERMS }, (_, k) => Math.sqrt(matrix[k * TERMS + k] as number));
  if (scale.some((value) => value === 0)) return undefined;
  const rows = scale.map((by, row) => [
    ...scale.map((other, column) => (matrix[row * TERMS + column] as number) / by / other),
    (right[row] as number) / by,
    row === 1 ? 1 : 0,
  ]);
  for (let k = 0; k < TERMS; k++) {
    let pivot = k;
    for (let row = k + 1; row < TERMS; row++)
      if (Math.abs(rows[row]?.[k] as number) > Math.abs(rows[pivot]?.[k] as number)) pivot = row;
    [rows[k], rows[pivot]] = [rows[pivot] as number[], rows[k] as number[]];
    const head = rows[k] as number[];
    if (Math.abs(head[k] as number) < 1e-6) return undefined;
    for (let row = 0; row < TERMS; row++) {
      if (row === k) continue;
      const by = (rows[row]?.[k] as number) / (head[k] as number);
      rows[row] = (rows[row] as number[]).map((value, column) => value - by * (head[column] as number));
    }
  }
  const at = (k: number, column: number): number => (rows[k]?.[column] as number) / (rows[k]?.[k] as number);
  return {
    solution: scale.map((by, k) => at(k, TERMS) / by),
    inverseOfDirection: at(1, TERMS + 1) / (scale[1] as number) ** 2,
  };
}
