/** What a mission says of one received parameter, made ready to run; or what of it cannot be computed. */
import { type BitField, type CountFormat, codings, type Parameter } from '../../protocol/parameter.ts';
import { SECOND } from '../../protocol/time.ts';
import type { Run } from './frozen.ts';
import {
  cubicCoefficients,
  cubicKernel,
  fieldCoefficients,
  fieldKernel,
  type Kernel,
  polynomialKernel,
  tableCoefficients,
  tableKernel,
} from './kernels.ts';
import { type Pace, startPace } from './pace.ts';

/** One received parameter, compiled. */
export interface Column {
  id: string;
  /** place in the batch's columns */
  place: number;
  /** place of its counts (its word's counts, for bits) in wire order */
  wire: number;
  /** takes the counts out of their word first; undefined where what travels are the counts */
  field: { kernel: Kernel; coefficients: Float64Array } | undefined;
  kernel: Kernel;
  coefficients: Float64Array;
  /** the value is the number in the bits: `kernel` gives both */
  isBits: boolean;
  /** calibrated counts */
  from: number;
  to: number;
  /** physical range */
  low: number;
  high: number;
  /** values a discrete may have; undefined = any in range */
  allowed: Set<number> | undefined;
  /** 0 = never frozen */
  frozenAfter: number;
  run: Run;
  /** undefined = it may change at any pace */
  pace: Pace | undefined;
}

/** Where its counts are in a word; undefined where what travels are the counts. */
export function fieldOf(parameter: Parameter): (BitField & { word?: string }) | undefined {
  return parameter.calibration.kind === 'bits' ? parameter.calibration : parameter.bits;
}

export function compileColumn(
  parameter: Parameter,
  place: number,
  wire: ReadonlyMap<string, number>,
  byId: ReadonlyMap<string, Parameter>,
): Column {
  const { calibration } = parameter;
  const bits = fieldOf(parameter);
  const carrier = bits?.word === undefined ? parameter : byId.get(bits.word);
  const at = wire.get(carrier?.id ?? '');
  if (carrier?.format === undefined || at === undefined)
    throw new Error(`parameter ${parameter.id} has no counts on the wire`);
  const [low, high] = parameter.physicalRange ?? [-Infinity, Infinity];
  const isBits = calibration.kind === 'bits';
  const taken = bits && {
    kernel: fieldKernel(carrier.format, bits.coding ?? 'unsigned'),
    coefficients: fieldCoefficients(bits),
  };
  const fastest = parameter.plausible?.fastest;
  return {
    id: parameter.id,
    place,
    wire: at,
    low,
    high,
    from: -Infinity,
    to: Infinity,
    allowed: undefined,
    frozenAfter: parameter.frozenAfter ?? 0,
    run: { last: Number.NaN, length: 0 },
    pace: fastest === undefined ? undefined : startPace(fastest / SECOND),
    isBits,
    field: isBits ? undefined : taken,
    ...(taken && isBits
      ? { ...taken, ...(calibration.states && { allowed: valuesOf(calibration.states) }) }
      : // what a field kernel puts out are numbers like those of an f64 column
        ruleOf(parameter, bits ? 'f64' : carrier.format)),
  };
}

type Rule = Pick<Column, 'kernel' | 'coefficients'> & Partial<Pick<Column, 'from' | 'to' | 'allowed'>>;

function ruleOf({ id, calibration }: Parameter, format: CountFormat): Rule {
  switch (calibration.kind) {
    case 'polynomial':
      return {
        kernel: polynomialKernel(format, calibration.coefficients.length - 1),
        coefficients: Float64Array.from(calibration.coefficients),
        from: calibration.from ?? -Infinity,
        to: calibration.to ?? Infinity,
      };
    case 'table': {
      const { counts, values, curve } = calibration;
      const ends = { from: counts[0] as number, to: counts.at(-1) as number };
      return curve === undefined
        ? { ...ends, kernel: tableKernel(format), coefficients: tableCoefficients(counts, values) }
        : { ...ends, kernel: cubicKernel(format), coefficients: cubicCoefficients(counts, values) };
    }
    case 'states':
      return {
        kernel: polynomialKernel(format, 1),
        coefficients: Float64Array.of(0, 1),
        allowed: valuesOf(calibration.states),
      };
    case 'bits':
      throw new Error(`the bits of ${id} are its value`);
  }
}

const valuesOf = (states: Record<string, string>) => new Set(Object.keys(states).map(Number));

type Trouble = (found: string, expected: string) => void;

/** All that cannot be computed of one parameter. */
export function checkColumn(parameter: Parameter, byId: ReadonlyMap<string, Parameter>, trouble: Trouble): void {
  const { calibration } = parameter;
  const bits = fieldOf(parameter);
  const finite = (numbers: readonly number[]) => numbers.every(Number.isFinite);
  if (bits?.word === undefined && parameter.format === undefined) {
    trouble('no format', 'the format of its counts on the wire');
  }
  if (calibration.kind === 'polynomial') {
    const degree = calibration.coefficients.length - 1;
    if (degree < 0 || degree > 5) trouble(`a polynomial of degree ${degree}`, 'degree 0 to 5');
    if (!finite(calibration.coefficients)) trouble('a coefficient that is not finite', 'finite numbers');
    if ((calibration.from ?? -Infinity) > (calibration.to ?? Infinity)) trouble('from above to', 'from <= to');
  }
  if (calibration.kind === 'table') {
    const { counts, values } = calibration;
    if (counts.length < 2 || counts.length !== values.length) trouble(`${counts.length} points`, 'at least two points');
    if (!finite(counts) || !finite(values)) trouble('a point that is not finite', 'finite numbers');
    if (counts.some((x, i) => i > 0 && x <= (counts[i - 1] as number)))
      trouble('counts that do not rise', 'rising counts');
  }
  if (bits) checkField(parameter, bits, byId, trouble);
  const fastest = parameter.plausible?.fastest;
  if (fastest !== undefined && !(fastest > 0 && Number.isFinite(fastest)))
    trouble(`a fastest change of ${fastest} a second`, 'a number above 0');
}

function checkField(
  parameter: Parameter,
  bits: BitField & { word?: string },
  byId: ReadonlyMap<string, Parameter>,
  trouble: Trouble,
): void {
  const word = bits.word === undefined ? parameter : byId.get(bits.word);
  if (!word) return trouble(`the unknown word ${bits.word}`, 'the id of a received parameter');
  if (!word.format || !['u8', 'u16', 'u32'].includes(word.format)) {
    if (word.format !== undefined || bits.word !== undefined)
      trouble(`the word ${word.id} of format ${word.format ?? 'none'}`, 'a word of format u8, u16 or u32');
    return;
  }
  const wordBits = Number(word.format.slice(1));
  const { shift, width, mask } = bits;
  const fits =
    Number.isInteger(shift) && Number.isInteger(width) && shift >= 0 && width >= 1 && shift + width <= wordBits;
  if (!fits) trouble(`bits ${shift} to ${shift + width - 1}`, `bits within 0 to ${wordBits - 1}`);
  const coding = bits.coding ?? 'unsigned';
  if (!(codings as readonly string[]).includes(coding)) trouble(`the coding ${coding}`, codings.join(', '));
  if (mask !== undefined && !(Number.isInteger(mask) && mask >= 1 && mask < 2 ** width))
    trouble(`the mask ${mask}`, `a mask of ${width} bits`);
  if (mask !== undefined && mask !== 2 ** width - 1 && coding !== 'unsigned')
    trouble(`a mask with holes, read as ${coding}`, 'neighbouring bits for a number with a sign');
  if (word.group !== parameter.group) trouble(`rate group ${parameter.group}`, `${word.group}, the group of its word`);
}
