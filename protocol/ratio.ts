/** Exact fractions, for unit factors: rounded once, when a factor becomes a double. */
export interface Ratio {
  readonly over: bigint;
  /** greater than zero */
  readonly under: bigint;
  /** power of pi it is multiplied with */
  readonly pi: number;
}

/** pi to 40 decimals, so that a factor with pi in it is rounded once as well. */
const PI: Ratio = { over: 31415926535897932384626433832795028841972n, under: 10n ** 40n, pi: 0 };

export const ONE: Ratio = { over: 1n, under: 1n, pi: 0 };
export const ZERO: Ratio = { over: 0n, under: 1n, pi: 0 };

/** Of a product and quotient of decimals and `pi`, from left to right: `0.45359237*9.80665/0.3048`. */
export function ratio(text: string): Ratio {
  let result = ONE;
  for (const [, sign, part] of text.matchAll(/([*/]?)([^*/]+)/g)) {
    const factor = part === 'pi' ? { ...ONE, pi: 1 } : decimal(part as string);
    result = multiply(result, sign === '/' ? power(factor, -1) : factor);
  }
  return result;
}

function decimal(text: string): Ratio {
  const match = /^(-?\d+)(?:\.(\d+))?$/.exec(text);
  if (!match) throw new Error(`not a decimal number: ${text}`);
  const places = match[2] ?? '';
  return reduce(BigInt(`${match[1]}${places}`), 10n ** BigInt(places.length), 0);
}

export function multiply(a: Ratio, b: Ratio): Ratio {
  return reduce(a.over * b.over, a.under * b.under, a.pi + b.pi);
}

/** `a` to a whole power; a negative one of zero throws. */
export function power(a: Ratio, exponent: number): Ratio {
  const n = BigInt(Math.abs(exponent));
  const raised: Ratio = { over: a.over ** n, under: a.under ** n, pi: a.pi * Math.abs(exponent) };
  if (exponent >= 0) return raised;
  if (raised.over === 0n) throw new Error('zero has no negative power');
  const sign = raised.over < 0n ? -1n : 1n;
  return { over: sign * raised.under, under: sign * raised.over, pi: 0 - raised.pi };
}

/** Difference of two ratios that carry no pi. */
export const subtract = (a: Ratio, b: Ratio): Ratio =>
  reduce(a.over * b.under - b.over * a.under, a.under * b.under, 0);

export const isOne = (a: Ratio): boolean => a.over === a.under && a.pi === 0;

function reduce(over: bigint, under: bigint, pi: number): Ratio {
  let a = over < 0n ? -over : over;
  let b = under;
  while (b !== 0n) [a, b] = [b, a % b];
  return { over: over / a, under: under / a, pi };
}

/** The double nearest to a ratio. */
export function toNumber(a: Ratio): number {
  let { over, under } = a;
  for (let i = 0; i < Math.abs(a.pi); i++) {
    over *= a.pi > 0 ? PI.over : PI.under;
    under *= a.pi > 0 ? PI.under : PI.over;
  }
  if (over === 0n) return 0;
  const negative = over < 0n;
  if (negative) over = -over;
  // 66 bits or more of quotient, and a last bit that says whether anything was cut off: then one rounding is enough.
  const shift = Math.max(0, 66 - (bits(over) - bits(under)));
  const scaled = over << BigInt(shift);
  const quotient = ((scaled / under) << 1n) | (scaled % under === 0n ? 0n : 1n);
  const value = Number(quotient) / 2 ** (shift + 1);
  return negative ? -value : value;
}

const bits = (a: bigint): number => a.toString(2).length;
