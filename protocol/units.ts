/**
 * Units: exact factors and exponents of dimension. Factors follow from the definitions collected in NIST Special
 * Publication 811 (2008), appendix B.8. An angle is a dimension of its own here (unlike in the SI), so that degrees and
 * radians never pass for pure numbers; whoever means an arc length divides by `1[rad]`.
 *
 * Spelling: symbols with powers (`m^2`), a space between factors (`ft lbf`), at most one solidus, parentheses after it
 * where it rules more than one factor (`J/(kg K)`).
 */
import { nearestName } from './finding.ts';
import { isOne, multiply, ONE, power, type Ratio, ratio, subtract, toNumber, ZERO } from './ratio.ts';

/** Exponents of length, mass, time, temperature, angle, electric current. */
export type Dimension = readonly [number, number, number, number, number, number];

export interface Unit {
  /** as written, or made up from its factors */
  readonly name: string;
  readonly dimension: Dimension;
  /** value in the coherent unit (m kg s K rad A) = value x factor + offset */
  readonly factor: number;
  /** not zero only for degC and degF */
  readonly offset: number;
  readonly exact: { readonly factor: Ratio; readonly offset: Ratio };
  /** symbols and their powers, for the names of products */
  readonly terms: readonly (readonly [symbol: string, power: number])[];
}

const baseSymbols = ['m', 'kg', 's', 'K', 'rad', 'A'] as const;

/**
 * Symbol: factor, in which unit, and the offset in that unit where there is one. In order, each one stands on those
 * above it. No prefix is split off: a prefixed unit is in the table or does not exist.
 */
const table: Record<string, readonly [factor: string, unit: string, offset?: string]> = {
  // length
  km: ['1000', 'm'],
  cm: ['0.01', 'm'],
  mm: ['0.001', 'm'],
  um: ['0.000001', 'm'],
  in: ['0.0254', 'm'],
  ft: ['0.3048', 'm'],
  /** international nautical mile */
  nmi: ['1852', 'm'],
  // time
  us: ['0.000001', 's'],
  ms: ['0.001', 's'],
  min: ['60', 's'],
  h: ['3600', 's'],
  Hz: ['1', '1/s'],
  kHz: ['1000', '1/s'],
  // speed
  kt: ['1852/3600', 'm/s'],
  // acceleration: standard gravity. The gram, which NIST writes so, is not in this table.
  g: ['9.80665', 'm/s^2'],
  g0: ['1', 'g'],
  // mass: avoirdupois pound; the slug is the mass that one lbf accelerates by 1 ft/s^2
  lb: ['0.45359237', 'kg'],
  slug: ['0.45359237*9.80665/0.3048', 'kg'],
  // force
  N: ['1', 'kg m/s^2'],
  daN: ['10', 'N'],
  kN: ['1000', 'N'],
  lbf: ['0.45359237*9.80665', 'N'],
  // pressure: inHg is the conventional inch of mercury, 13 595.1 kg/m^3 at standard gravity
  Pa: ['1', 'N/m^2'],
  hPa: ['100', 'Pa'],
  kPa: ['1000', 'Pa'],
  MPa: ['1000000', 'Pa'],
  mbar: ['100', 'Pa'],
  bar: ['100000', 'Pa'],
  inHg: ['0.0254*13595.1*9.80665', 'Pa'],
  psi: ['1', 'lbf/in^2'],
  psf: ['1', 'lbf/ft^2'],
  // energy, power: hp is 550 ft lbf/s
  J: ['1', 'N m'],
  kJ: ['1000', 'J'],
  W: ['1', 'J/s'],
  kW: ['1000', 'W'],
  hp: ['550', 'ft lbf/s'],
  // volume: US gallon of 231 cubic inches
  L: ['0.001', 'm^3'],
  gal: ['231', 'in^3'],
  // temperature
  degC: ['1', 'K', '273.15'],
  degF: ['5/9', 'K', '459.67*5/9'],
  degR: ['5/9', 'K'],
  // angle
  deg: ['pi/180', 'rad'],
  mrad: ['0.001', 'rad'],
  rev: ['2*pi', 'rad'],
  rpm: ['1', 'rev/min'],
  // electrical
  mA: ['0.001', 'A'],
  V: ['1', 'W/A'],
  mV: ['0.001', 'V'],
  ohm: ['1', 'V/A'],
  // pure numbers
  '%': ['0.01', '1'],
};

/** Spellings already read; a mission uses few different ones, a hostile file as many as it likes. */
const spelled = new Map<string, Unit>();
const MAX_SPELLED = 1000;
const MAX_SPELLING = 64;
const MAX_POWER = 12;

const none: Dimension = [0, 0, 0, 0, 0, 0];

/** The pure number. */
export const NUMBER: Unit = make('1', none, ONE, ZERO, []);

const known = new Map<string, Unit>([['1', NUMBER]]);
for (const [i, symbol] of baseSymbols.entries()) {
  const dimension = none.map((_, j) => (i === j ? 1 : 0)) as unknown as Dimension;
  known.set(symbol, make(symbol, dimension, ONE, ZERO, [[symbol, 1]]));
}
for (const [symbol, [factor, unit, offset]] of Object.entries(table)) {
  const of = parseUnit(unit) as Unit;
  const exact = multiply(ratio(factor), of.exact.factor);
  const shift = offset === undefined ? ZERO : ratio(offset);
  known.set(symbol, make(symbol, of.dimension, exact, shift, [[symbol, 1]]));
}

function make(name: string, dimension: Dimension, factor: Ratio, offset: Ratio, terms: Unit['terms']): Unit {
  return {
    name,
    dimension,
    factor: toNumber(factor),
    offset: toNumber(offset),
    exact: { factor, offset },
    terms,
  };
}

/** Every symbol of the table. */
export const unitNames = (): string[] => [...known.keys()];

/** The unit a text spells; undefined when it spells none. */
export function parseUnit(text: string): Unit | undefined {
  const spelling = text.trim();
  const simple = known.get(spelling);
  if (simple) return simple;
  if (spelling.length > MAX_SPELLING) return undefined;
  const seen = spelled.get(spelling);
  if (seen) return seen;
  const parts = spelling.split('/');
  if (parts.length > 2) return undefined;
  const over = product(parts[0] as string);
  const under = parts.length === 2 ? denominator((parts[1] as string).trim()) : NUMBER;
  if (!over || !under) return undefined;
  const unit = { ...divideUnits(over, under), name: spelling.replace(/\s+/g, ' ') };
  if (spelled.size < MAX_SPELLED) spelled.set(spelling, unit);
  return unit;
}

function denominator(text: string): Unit | undefined {
  const inner = /^\((.*)\)$/.exec(text);
  if (inner) return product(inner[1] as string);
  return /[\s*·]/.test(text) ? undefined : product(text);
}

function product(text: string): Unit | undefined {
  let result = NUMBER;
  for (const factor of text.trim().split(/\s*[*·]\s*|\s+/)) {
    const match = /^([A-Za-z%][A-Za-z0-9]*|1)(?:\^(-?\d{1,2}))?$/.exec(factor);
    const unit = match && known.get(match[1] as string);
    const exponent = Number(match?.[2] ?? 1);
    if (!unit || Math.abs(exponent) > MAX_POWER) return undefined;
    result = multiplyUnits(result, powerUnit(unit, exponent));
  }
  return result;
}

/** In a product or a power, degC and degF stand for a difference: their offset is dropped. */
export function multiplyUnits(a: Unit, b: Unit): Unit {
  const dimension = a.dimension.map((x, i) => x + (b.dimension[i] as number)) as unknown as Dimension;
  const terms = new Map(a.terms);
  for (const [symbol, exponent] of b.terms) terms.set(symbol, (terms.get(symbol) ?? 0) + exponent);
  const left = [...terms].filter(([, exponent]) => exponent !== 0);
  return make(nameOf(left), dimension, multiply(a.exact.factor, b.exact.factor), ZERO, left);
}

export function divideUnits(a: Unit, b: Unit): Unit {
  return multiplyUnits(a, powerUnit(b, -1));
}

/** Whole powers of any unit; broken ones only of a coherent unit (factor 1), since others have no exact factor. */
export function powerUnit(a: Unit, exponent: number): Unit {
  if (exponent === 1 && isOne(a.exact.factor)) return { ...a, offset: 0, exact: { factor: ONE, offset: ZERO } };
  const whole = Number.isInteger(exponent);
  if (!whole && !isOne(a.exact.factor)) throw new Error(`${a.name} has no exact power ${exponent}`);
  const dimension = a.dimension.map((x) => x * exponent + 0) as unknown as Dimension;
  const terms = a.terms.map(([symbol, p]) => [symbol, p * exponent] as const).filter(([, p]) => p !== 0);
  return make(nameOf(terms), dimension, whole ? power(a.exact.factor, exponent) : ONE, ZERO, terms);
}

/** The unit made of m, kg, s, K, rad and A alone. */
export function coherentUnit(dimension: Dimension): Unit {
  const terms = baseSymbols
    .map((symbol, i) => [symbol as string, dimension[i] as number] as const)
    .filter(([, exponent]) => exponent !== 0);
  return make(nameOf(terms), dimension, ONE, ZERO, terms);
}

function nameOf(terms: Unit['terms']): string {
  const side = (chosen: Unit['terms']) =>
    chosen.map(([symbol, p]) => (Math.abs(p) === 1 ? symbol : `${symbol}^${Math.abs(p)}`)).join(' ');
  const over = terms.filter(([, p]) => p > 0);
  const under = terms.filter(([, p]) => p < 0);
  const top = side(over) || '1';
  if (under.length === 0) return top;
  return under.length === 1 ? `${top}/${side(under)}` : `${top}/(${side(under)})`;
}

export function sameDimension(a: Unit | string, b: Unit | string): boolean {
  const [left, right] = [asUnit(a).dimension, asUnit(b).dimension];
  return left.every((exponent, i) => exponent === right[i]);
}

/** What takes a value from one unit to another of the same dimension: value x scale + shift. */
export function conversion(from: Unit, to: Unit): { scale: number; shift: number } {
  if (!sameDimension(from, to)) throw new Error(`${from.name} is no ${dimensionName(to)}: it cannot become ${to.name}`);
  const inverse = power(to.exact.factor, -1);
  return {
    scale: toNumber(multiply(from.exact.factor, inverse)),
    shift: toNumber(multiply(subtract(from.exact.offset, to.exact.offset), inverse)),
  };
}

/** A value in another unit of the same dimension; throws when the dimensions differ or a unit is unknown. */
export function convertUnit(value: number, from: Unit | string, to: Unit | string): number {
  const { scale, shift } = conversion(asUnit(from), asUnit(to));
  return value * scale + shift;
}

function asUnit(unit: Unit | string): Unit {
  if (typeof unit !== 'string') return unit;
  const parsed = parseUnit(unit);
  if (!parsed) throw new Error(`unknown unit ${unit}`);
  return parsed;
}

/** True for a unit whose zero is not the zero of its dimension (degC, degF). */
export const isOffset = (unit: Unit): boolean => unit.exact.offset.over !== 0n;

/** What people write instead, and what it is here. */
const otherSpellings: Record<string, string> = {
  knot: 'kt',
  knots: 'kt',
  kts: 'kt',
  kn: 'kt',
  fpm: 'ft/min',
  fps: 'ft/s',
  mps: 'm/s',
  kph: 'km/h',
  nm: 'nmi',
  lbs: 'lb',
  lbm: 'lb',
  pph: 'lb/h',
  shp: 'hp',
  mb: 'mbar',
  pct: '%',
  percent: '%',
  degree: 'deg',
  degrees: 'deg',
  c: 'degC',
  f: 'degF',
  sec: 's',
  hr: 'h',
  l: 'L',
  usg: 'gal',
  ohms: 'ohm',
  '°': 'deg',
  '°c': 'degC',
  '°f': 'degF',
};

/** The unit that was probably meant by a spelling this table lacks. */
export function unitHint(text: string): string | undefined {
  const spelling = text.trim();
  const usual = otherSpellings[spelling.toLowerCase()];
  if (usual) return usual;
  return nearestName(spelling, known.keys());
}

const dimensionNames: readonly (readonly [unit: string, name: string])[] = [
  ['1', 'pure number'],
  ['m', 'length'],
  ['kg', 'mass'],
  ['s', 'time'],
  ['K', 'temperature'],
  ['rad', 'angle'],
  ['A', 'electric current'],
  ['m/s', 'speed'],
  ['m/s^2', 'acceleration'],
  ['rad/s', 'angular speed'],
  ['rad/s^2', 'angular acceleration'],
  ['Hz', 'frequency'],
  ['N', 'force'],
  ['N m', 'torque or energy'],
  ['Pa', 'pressure'],
  ['W', 'power'],
  ['V', 'voltage'],
  ['m^2', 'area'],
  ['m^3', 'volume'],
  ['kg/s', 'mass flow'],
  ['kg/m^3', 'density'],
  ['kg m^2', 'moment of inertia'],
];

/** The dimension in words, or its coherent unit when it has no word of its own. */
export function dimensionName(unit: Unit): string {
  const named = dimensionNames.find(([spelling]) => sameDimension(spelling, unit));
  return named ? named[1] : coherentUnit(unit.dimension).name;
}
