/** What several channels say together. Source: mid-value selection, as in NASA TM-100007 (1987); common practice. */
import { wrap } from './angle.ts';

/** Sorts the first `count` numbers in place and returns the middle one, or the mean of the two in the middle. */
export function median(numbers: Float64Array, count: number): number {
  for (let i = 1; i < count; i++) {
    const value = numbers[i] as number;
    let j = i - 1;
    for (; j >= 0 && (numbers[j] as number) > value; j--) numbers[j + 1] = numbers[j] as number;
    numbers[j + 1] = value;
  }
  const middle = count >> 1;
  const upper = numbers[middle] as number;
  return count % 2 === 1 ? upper : ((numbers[middle - 1] as number) + upper) / 2;
}

/** Mean of the first `count` numbers. */
export function mean(numbers: Float64Array, count: number): number {
  let sum = 0;
  for (let i = 0; i < count; i++) sum += numbers[i] as number;
  return sum / count;
}

/** Highest less lowest. */
export function spread(numbers: Float64Array, count: number): number {
  let low = numbers[0] as number;
  let high = low;
  for (let i = 1; i < count; i++) {
    low = Math.min(low, numbers[i] as number);
    high = Math.max(high, numbers[i] as number);
  }
  return high - low;
}

/** How many there are. */
export const countOf = (_: Float64Array, count: number): number => count;

/** The first number less the median of all, the first among them. Sorts in place. */
export function miscompare(numbers: Float64Array, count: number): number {
  const first = numbers[0] as number;
  return first - median(numbers, count);
}

/** The same for directions in degrees: 359 and 1 are 2 degrees apart. */
export function miscompareAngle(numbers: Float64Array, count: number): number {
  const first = numbers[0] as number;
  // seen from the first one, its own difference being 0, the others are what lies between -180 and 180
  for (let i = 0; i < count; i++) numbers[i] = wrap((numbers[i] as number) - first);
  return -median(numbers, count);
}
