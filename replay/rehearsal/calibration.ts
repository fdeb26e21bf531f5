/**
 * Calibrations turned round: from a value in engineering units to the counts a sensor would send for it. Written for the
 * rehearsal alone, so that a mistake in the station's own conversion cannot hide behind the same mistake here.
 */
import type { Calibration, CountFormat } from '../../protocol/parameter.ts';

interface Span {
  low: number;
  high: number;
  whole: boolean;
}

/** What each format can hold. */
const spans: Record<CountFormat, Span> = {
  u8: { low: 0, high: 255, whole: true },
  i8: { low: -128, high: 127, whole: true },
  u16: { low: 0, high: 65_535, whole: true },
  i16: { low: -32_768, high: 32_767, whole: true },
  u32: { low: 0, high: 2 ** 32 - 1, whole: true },
  i32: { low: -(2 ** 31), high: 2 ** 31 - 1, whole: true },
  f32: { low: -3.4e38, high: 3.4e38, whole: false },
  f64: { low: -Number.MAX_VALUE, high: Number.MAX_VALUE, whole: false },
};

export type ToCounts = (value: number) => number;

/** The nearest counts the format can hold, not beyond the calibrated ones. */
export function countsFor(calibration: Calibration, format: CountFormat): ToCounts {
  const { low, high, whole } = spans[format];
  const settle = (counts: number, from = low, to = high): number => {
    const inside = Math.max(from, Math.min(to, counts));
    return whole ? Math.round(inside) : inside;
  };
  switch (calibration.kind) {
    case 'polynomial': {
      const { coefficients, from, to } = calibration;
      const inverse = inversePolynomial(coefficients, Math.max(low, from ?? low), Math.min(high, to ?? high));
      return (value) => settle(inverse(value), from, to);
    }
    case 'table': {
      const inverse = inverseTable(calibration.counts, calibration.values);
      const { counts } = calibration;
      return (value) => settle(inverse(value), counts[0], counts[counts.length - 1]);
    }
    case 'states':
      return (value) => settle(value);
    case 'bits':
      throw new Error('bits travel in their word and have no counts of their own');
  }
}

function inversePolynomial(coefficients: readonly number[], from: number, to: number): ToCounts {
  const [c0 = 0, c1 = 1] = coefficients;
  if (coefficients.slice(2).every((c) => c === 0)) return (value) => (value - c0) / c1;
  const at = (x: number): number => coefficients.reduceRight((sum, c) => sum * x + c, 0);
  const rising = at(to) > at(from);
  // halving the span cannot fail on a calibration that rises or falls all the way; 60 halvings exhaust a double
  return (value) => {
    let low = from;
    let high = to;
    for (let i = 0; i < 60 && high - low > 1e-6; i++) {
      const middle = (low + high) / 2;
      if (at(middle) < value === rising) low = middle;
      else high = middle;
    }
    return (low + high) / 2;
  };
}

function inverseTable(counts: readonly number[], values: readonly number[]): ToCounts {
  const rising = values[values.length - 1]! > values[0]!;
  return (value) => {
    let i = 1;
    while (i < values.length - 1 && values[i]! < value === rising) i++;
    const share = (value - values[i - 1]!) / (values[i]! - values[i - 1]!);
    return counts[i - 1]! + share * (counts[i]! - counts[i - 1]!);
  };
}
