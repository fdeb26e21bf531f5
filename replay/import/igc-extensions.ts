/**
 * Additions to the fix records of an IGC file, by their three-letter codes. Names and units: FAI/IGC "Technical
 * Specification for GNSS Flight Recorders", appendix A. Values stand there as digits without a decimal point; how many of
 * them are decimals depends on the width that the file declares, since recorders write more digits than the specification
 * once asked for.
 */
export interface Extension {
  name: string;
  unit: string;
  /** decimals among the digits of a field this wide */
  decimals: (width: number) => number;
  /** decimals a person wants to see */
  shown: number;
}

const whole = (): number => 0;

/** km/h: three digits are whole, each further one is a decimal ("five numbers" = hundredths). */
const speed = (width: number): number => Math.max(0, width - 3);

/** m/s and tenths, in up to four characters with the sign; recorders that write five give hundredths. */
const climb = (width: number): number => (width >= 5 ? 2 : 1);

/** Load factor: one digit and tenths in three characters; wider ones give hundredths. */
const load = (width: number): number => (width >= 4 ? 2 : 1);

const of = (name: string, unit: string, decimals: Extension['decimals'], shown = 0): Extension => ({
  name,
  unit,
  decimals,
  shown,
});

export const extensions: Readonly<Record<string, Extension>> = {
  FXA: of('Horizontal fix accuracy', 'm', whole),
  VXA: of('Vertical fix accuracy', 'm', whole),
  SIU: of('Satellites in use', '1', whole),
  ENL: of('Engine noise level, 0 to 999', '1', whole),
  MOP: of('Means of propulsion, 0 to 999', '1', whole),
  RPM: of('Engine speed', 'rpm', whole),
  GSP: of('Ground speed', 'km/h', speed, 1),
  TAS: of('True airspeed', 'km/h', speed, 1),
  IAS: of('Indicated airspeed', 'km/h', speed, 1),
  WSP: of('Wind speed', 'km/h', speed, 1),
  WVE: of('Wind speed', 'km/h', speed, 1),
  VAT: of('Vertical speed, total energy', 'm/s', climb, 1),
  VAR: of('Vertical speed', 'm/s', climb, 1),
  ACZ: of('Load factor', '1', load, 2),
  TRT: of('True track', 'deg', whole),
  TRM: of('Magnetic track', 'deg', whole),
  HDT: of('True heading', 'deg', whole),
  HDM: of('Magnetic heading', 'deg', whole),
  CCO: of('Compass course', 'deg', whole),
  WDI: of('Wind direction', 'deg', whole),
};

/** Codes that make the fix itself finer: last digits of latitude, longitude, and the decimals of the second. */
export const refinements = new Set(['LAD', 'LOD', 'TDS']);

/** A code that is not in the table: its digits as they stand, without a unit. */
export const unknownExtension = (code: string): Extension => of(`${code} as written`, '1', whole);
