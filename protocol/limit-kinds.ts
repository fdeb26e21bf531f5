/**
 * The kinds of limit as data: what each measures, in which unit, and the settings it has. From this one table come the
 * keys of limits.yaml and their schema, how they are read, the editor's fields and the README's table; the arithmetic is
 * in station/check/kinds/.
 */
import { type LimitKind, type Setting, spelt, type ValueOf } from './limit-kind.ts';

const kind = <S extends Record<string, Setting>>(of: Omit<LimitKind, 'settings'> & { settings: S }) => of;

/** What times a rotor, for the kinds that follow one. */
const rotor = {
  tach: { type: 'parameter', summary: 'speed of the rotor, in %, rpm or Hz' },
  'hundred percent': {
    type: 'quantity',
    unit: 'rpm',
    optional: true,
    summary: 'what it turns at 100 %, for a tach in %',
  },
} as const satisfies Record<string, Setting>;

export const limitKinds = {
  level: kind({
    number: 1,
    summary: 'low and high values',
    measure: 'watched',
    sides: 'both',
    parameter: 'watched',
    settings: {},
  }),
  rate: kind({
    number: 2,
    summary: 'rate of change, by a least-squares slope over a window',
    measure: 'watched per second',
    sides: 'both',
    parameter: 'watched',
    settings: {
      window: { type: 'duration', summary: 'aircraft time the slope is taken over' },
    },
  }),
  'time at level': kind({
    number: 3,
    summary: 'seconds in a band of values; a gap counts as time in the band',
    measure: 's',
    sides: 'above',
    parameter: 'watched',
    settings: {
      over: { type: 'quantity', unit: 'watched', optional: true, summary: 'in the band when greater than this' },
      'up to': { type: 'quantity', unit: 'watched', optional: true, summary: 'in the band up to this' },
      count: {
        type: 'choice',
        of: ['each time', 'whole flight'],
        default: 'each time',
        summary: 'whether the seconds begin at 0 each time the band is entered, or add up',
      },
      margin: {
        type: 'quantity',
        unit: 'watched',
        default: 0,
        least: 0,
        summary: 'how far beyond the band it must be to have left it',
      },
    },
  }),
  peak: kind({
    number: 4,
    summary: 'highest or lowest value since the limit came in force, from every sample',
    measure: 'watched',
    sides: 'both',
    parameter: 'watched',
    settings: {
      of: { type: 'choice', of: ['highest', 'lowest'], default: 'highest', summary: 'which peak is kept' },
      steps: {
        type: 'quantities',
        unit: 'watched',
        least: 1,
        most: 10,
        optional: true,
        summary: 'values beyond each of which the seconds are counted',
      },
    },
  }),
  depends: kind({
    number: 5,
    summary: 'distance from a value that depends on others, computed by a table or formula',
    measure: 'watched',
    sides: 'both',
    parameter: 'watched',
    settings: {
      on: { type: 'parameter', unit: 'watched', summary: 'derived parameter that levels are counted from' },
    },
  }),
  miscompare: kind({
    number: 7,
    summary: 'greatest distance of a channel from the median of the usable ones',
    measure: 'watched',
    sides: 'above',
    parameter: 'watched',
    settings: {
      channels: { type: 'parameters', least: 2, most: 6, unit: 'watched', summary: 'the channels compared' },
      wraps: { type: 'quantity', unit: 'watched', optional: true, summary: 'a whole turn, for directions' },
      filter: { type: 'duration', optional: true, summary: 'each distance is averaged over so much aircraft time' },
      voted: {
        type: 'parameter',
        unit: 'watched',
        optional: true,
        summary: "the aircraft's voted value; its distance from the median is measured then, not the channels'",
      },
    },
  }),
  plausibility: kind({
    number: 8,
    summary: 'distance from an independent estimate',
    measure: 'watched',
    sides: 'above',
    parameter: 'watched',
    settings: {
      estimate: { type: 'parameter', unit: 'watched', summary: 'what the watched value ought to be, by other sensors' },
      wraps: { type: 'quantity', unit: 'watched', optional: true, summary: 'a whole turn, for directions' },
    },
  }),
  'control margin': kind({
    number: 9,
    summary: 'least way left to a stop, of actuators and mixed axes, per cent of travel',
    measure: '%',
    sides: 'below',
    parameter: 'watched',
    settings: {
      actuators: { type: 'parameters', least: 1, most: 8, unit: 'watched', summary: 'positions of the actuators' },
      stops: { type: 'points', units: ['watched', 'watched'], least: 1, summary: 'low and high stop of each' },
      mixed: {
        type: 'parameters',
        least: 1,
        most: 8,
        unit: 'watched',
        optional: true,
        summary: 'axes derived from the actuators: swashplate tilt, collective pitch',
      },
      'mixed stops': {
        type: 'points',
        units: ['watched', 'watched'],
        least: 1,
        optional: true,
        summary: 'low and high stop of each mixed axis',
      },
    },
  }),
  tracking: kind({
    number: 10,
    summary: 'distance of a position from that of the nominal actuator given the same command',
    measure: 'watched',
    sides: 'above',
    parameter: 'watched',
    settings: {
      command: { type: 'parameter', unit: 'watched', summary: 'commanded position' },
      frequency: { type: 'quantity', unit: 'Hz', summary: 'natural frequency' },
      damping: { type: 'quantity', unit: '1', default: 0.7, summary: 'damping ratio' },
      'rate limit': { type: 'quantity', unit: 'watched per second', optional: true, summary: 'fastest it can move' },
      'low stop': { type: 'quantity', unit: 'watched', optional: true, summary: 'lowest position' },
      'high stop': { type: 'quantity', unit: 'watched', optional: true, summary: 'highest position' },
      delay: { type: 'duration', default: 0, summary: 'aircraft time from the command to its first effect' },
    },
  }),
  saturation: kind({
    number: 11,
    summary:
      'share of the last second at the rate limit; or amplitude of an oscillation, with its phase to the command',
    measure: { by: 'of', units: { rate: '%', 'pilot band': 'watched', 'airframe band': 'watched' } },
    sides: 'above',
    parameter: 'watched',
    settings: {
      of: {
        type: 'choice',
        of: ['rate', 'pilot band', 'airframe band'],
        default: 'rate',
        summary: 'what is measured: time at the rate limit, or oscillation at 0.5 to 2 Hz or at 2 to 8 Hz',
      },
      'rate limit': { type: 'quantity', unit: 'watched per second', optional: true, summary: 'fastest it can move' },
      share: { type: 'quantity', unit: '%', default: 95, summary: 'how much of the rate limit counts as at it' },
      'slope over': { type: 'duration', default: 50_000, summary: 'aircraft time that a rate is taken over' },
      window: {
        type: 'duration',
        optional: true,
        summary: 'aircraft time looked at; left out: 1 s, for a band one cycle of its lowest frequency',
      },
      command: { type: 'parameter', optional: true, summary: 'what the oscillation may be behind, for its phase' },
      band: {
        type: 'quantities',
        unit: 'Hz',
        least: 2,
        most: 2,
        optional: true,
        summary: 'lowest and highest frequency, in place of those of the band',
      },
    },
  }),
  order: kind({
    number: 12,
    summary: 'vibration at n turns of a rotor: amplitude (peak), followed by its tach',
    measure: { by: 'as', units: { watched: 'watched', velocity: 'in/s' } },
    sides: 'above',
    parameter: 'watched',
    settings: {
      ...rotor,
      order: { type: 'quantity', unit: '1', least: 0.1, most: 100, summary: 'periods in a turn of the rotor' },
      ratio: {
        type: 'quantity',
        unit: '1',
        default: 1,
        least: 0.001,
        summary: 'turns of this rotor in one of the tach',
      },
      revolutions: { type: 'whole', default: 4, least: 1, most: 64, summary: 'turns of the rotor averaged' },
      as: {
        type: 'choice',
        of: ['watched', 'velocity'],
        default: 'watched',
        summary: 'in the unit of the parameter, or an acceleration as a velocity in in/s',
      },
    },
  }),
  'off-harmonic': kind({
    number: 13,
    summary: 'vibration between the orders of a rotor: how fast the amplitude of a tone grows',
    measure: '%/s',
    sides: 'above',
    parameter: 'watched',
    settings: {
      ...rotor,
      from: { type: 'quantity', unit: 'Hz', default: 2, least: 0.1, summary: 'lowest frequency looked at' },
      to: { type: 'quantity', unit: 'Hz', default: 8, least: 0.2, summary: 'highest frequency looked at' },
      floor: {
        type: 'quantity',
        unit: 'watched',
        least: 0,
        summary: 'amplitude (peak) below which a tone does not count',
      },
      window: {
        type: 'duration',
        default: 1_500_000,
        summary: 'aircraft time of one look; a longer one tells nearer frequencies apart, and smaller growth',
      },
      orders: {
        type: 'whole',
        default: 4,
        least: 1,
        most: 12,
        summary: 'orders of the rotor that are removed: 1 to this',
      },
      controls: {
        type: 'parameters',
        least: 1,
        most: 4,
        optional: true,
        summary: 'control inputs; the alarm says when the tone goes with one',
      },
    },
  }),
  load: kind({
    number: 14,
    summary: 'structural load: mean or half-range of each turn of a rotor, or the damage of the flight by rainflow',
    measure: { by: 'measure', units: { mean: 'watched', 'half-range': 'watched', damage: '%' } },
    sides: 'both',
    parameter: 'watched',
    settings: {
      ...rotor,
      ratio: {
        type: 'quantity',
        unit: '1',
        default: 1,
        least: 0.001,
        summary: 'turns of this rotor in one of the tach',
      },
      measure: { type: 'choice', of: ['mean', 'half-range', 'damage'], summary: 'what the levels are about' },
      curve: {
        type: 'points',
        units: ['watched', '1'],
        least: 2,
        optional: true,
        summary: 'half-ranges from the endurance limit up, each with its cycles to failure; for the damage',
      },
      budget: {
        type: 'quantity',
        unit: '%',
        default: 100,
        least: 1e-9,
        summary: 'share of the life one flight may use, which is 100 % of the damage',
      },
    },
  }),
  trend: kind({
    number: 23,
    summary: 'seconds until a value is reached, by a robust line; a day while no good line leads there',
    measure: 's',
    sides: 'below',
    parameter: 'watched',
    settings: {
      window: { type: 'duration', summary: 'aircraft time the line is taken over' },
      toward: { type: 'quantity', unit: 'watched', summary: 'the value it leads to' },
      reached: { type: 'choice', of: ['rising', 'falling'], default: 'rising', summary: 'how the value is reached' },
      scatter: {
        type: 'quantity',
        unit: 'watched',
        optional: true,
        least: 0,
        summary: 'standard deviation of the means of a thirty-second of the window above which no line is good',
      },
    },
  }),
  damping: kind({
    number: 24,
    summary: 'a mode after an excitation: its damping ratio, or how near its frequency is to n turns of a rotor',
    measure: { by: 'measure', units: { damping: '1', proximity: '%' } },
    sides: 'below',
    parameter: 'watched',
    settings: {
      measure: { type: 'choice', of: ['damping', 'proximity'], summary: 'what the levels are about' },
      mode: { type: 'quantity', unit: 'Hz', least: 0.05, summary: 'frequency of the mode' },
      width: {
        type: 'quantity',
        unit: '%',
        default: 20,
        least: 0.1,
        most: 80,
        summary: 'how far from that the mode may be found',
      },
      after: {
        type: 'condition',
        optional: true,
        summary: 'true while the mode is excited; it decays freely after that',
      },
      window: { type: 'duration', default: 2_000_000, summary: 'aircraft time of the decay that is looked at' },
      tach: { ...rotor.tach, optional: true },
      'hundred percent': rotor['hundred percent'],
      orders: {
        type: 'whole',
        default: 4,
        least: 1,
        most: 12,
        summary: 'orders 1 to this are compared with, and removed from the decay',
      },
    },
  }),
  'by phase': kind({
    number: 6,
    summary: 'low and high values for each phase of flight, in one limit',
    measure: 'watched',
    sides: 'both',
    parameter: 'watched',
    settings: {},
  }),
  automation: kind({
    number: 20,
    summary: 'automation that should have acted: if this, then that within a time',
    measure: 'state',
    sides: 'above',
    parameter: 'driver',
    settings: {
      if: { type: 'condition', summary: 'what the automation answers' },
      then: { type: 'condition', summary: 'what it does' },
      within: { type: 'duration', summary: 'aircraft time it has for that' },
    },
  }),
  sequence: kind({
    number: 21,
    summary: 'steps that must follow one another, each within its time; a missing one is named',
    measure: 'state',
    sides: 'above',
    parameter: 'driver',
    settings: {
      begins: { type: 'condition', summary: 'the sequence begins, anew each time, when this becomes true' },
      ends: { type: 'condition', optional: true, summary: 'the sequence is over, whatever is missing' },
      steps: { type: 'steps', summary: 'name of each, when it is done, and time after the one before' },
    },
  }),
  validity: kind({
    number: 22,
    summary: 'a parameter that is not usable; the parameter and the reason are named',
    measure: 'state',
    sides: 'above',
    parameter: 'driver',
    family: 'data',
    settings: {
      parameters: {
        type: 'parameters',
        least: 1,
        most: 24,
        optional: true,
        summary: 'any of these; default: the parameter of the limit',
      },
      reason: {
        type: 'choice',
        of: ['any', 'link', 'bad checksum', 'rate wrong', 'stale', 'frozen', 'out of range', 'implausible'],
        default: 'any',
        summary: 'for this reason alone',
      },
    },
  }),
  logic: kind({
    number: 25,
    summary: 'and, or, not, at least n of other limits; persistence is its delay',
    measure: 'state',
    sides: 'above',
    parameter: 'driver',
    settings: {
      when: {
        type: 'expression',
        summary: 'ids of limits with and, or, not, brackets, "2 of (a, b, c)", "a at warning"',
      },
    },
  }),
  'card stop': kind({
    number: 26,
    summary: 'stop limit of a test card, inside a limit of the aircraft; cannot be shelved',
    measure: 'watched',
    sides: 'both',
    parameter: 'watched',
    settings: {
      inside: { type: 'limit', summary: 'limit of the aircraft that it lies inside' },
    },
  }),
  'height-velocity': kind({
    number: 15,
    summary: 'speed and height in the region to avoid, which grows with density altitude and mass',
    measure: { by: 'measure', units: { 'time inside': 's', 'height margin': 'ft' } },
    sides: 'both',
    parameter: 'watched',
    settings: {
      measure: {
        type: 'choice',
        of: ['time inside', 'height margin'],
        default: 'time inside',
        summary: 'seconds in the region, or way up or down to it, negative inside',
      },
      speed: { type: 'parameter', unit: 'kt', summary: 'airspeed; the parameter of the limit is the height' },
      corners: { type: 'points', units: ['kt', 'ft'], least: 3, summary: 'corners of the region: speed and height' },
      'density altitude': { type: 'parameter', unit: 'ft', optional: true, summary: 'first axis of the factors' },
      mass: { type: 'parameter', unit: 'kg', optional: true, summary: 'second axis of the factors, or the only one' },
      'height factor': { type: 'table', optional: true, summary: 'by how much its heights grow' },
      'speed factor': { type: 'table', optional: true, summary: 'by how much its speeds grow' },
    },
  }),
  'vortex ring': kind({
    number: 16,
    summary: 'descent through the air, measured by the induced velocity in the hover, vh',
    measure: { by: 'measure', units: { 'descent ratio': '1', margin: '1', 'time to region': 's' } },
    sides: 'both',
    parameter: 'watched',
    settings: {
      measure: {
        type: 'choice',
        of: ['descent ratio', 'margin', 'time to region'],
        default: 'descent ratio',
        summary: 'descent over vh; distance from the region of unstable descent in vh; seconds until it',
      },
      'forward speed': {
        type: 'parameter',
        unit: 'kt',
        summary: 'through the air; the parameter of the limit is the vertical speed, up positive',
      },
      mass: { type: 'parameter', unit: 'kg', summary: 'thrust is its weight' },
      'density altitude': { type: 'parameter', unit: 'ft', summary: 'gives the density of the air' },
      radius: { type: 'quantity', unit: 'm', least: 0.1, most: 50, summary: 'of the rotor' },
      window: {
        type: 'duration',
        default: 1_000_000,
        summary: 'time over which the margin shrinks, for time to region',
      },
    },
  }),
  'low g': kind({
    number: 17,
    summary: 'what happens to a see-saw rotor when it is unloaded, and the protection that should act',
    measure: {
      by: 'measure',
      units: { nz: 'g', 'nz rate': 'g/s', flapping: '%', 'right roll': 'deg/s', protection: 'g' },
    },
    sides: 'both',
    parameter: 'watched',
    settings: {
      measure: {
        type: 'choice',
        of: ['nz', 'nz rate', 'flapping', 'right roll', 'protection'],
        default: 'nz',
        summary: 'protection: how far nz is below the value by which it should have acted, while it has not',
      },
      window: { type: 'duration', default: 200_000, summary: 'time over which the rate of nz is taken' },
      flapping: { type: 'parameter', unit: 'deg', optional: true, summary: 'flapping of the rotor' },
      'flapping stop': { type: 'quantity', unit: 'deg', least: 0.1, optional: true, summary: 'its stop' },
      'roll rate': { type: 'parameter', unit: 'deg/s', optional: true, summary: 'to the right positive' },
      onset: { type: 'quantity', unit: 'g', default: 0.8, summary: 'below this nz a roll to the right counts' },
      protection: { type: 'condition', optional: true, summary: 'true while the protection acts' },
      'protection by': { type: 'quantity', unit: 'g', optional: true, summary: 'nz by which it should have acted' },
    },
  }),
  containment: kind({
    number: 18,
    summary: 'time, distance or power-off reach to a boundary',
    measure: { by: 'measure', units: { time: 's', distance: 'm', footprint: 'm' } },
    sides: 'below',
    parameter: 'driver',
    settings: {
      measure: {
        type: 'choice',
        of: ['time', 'distance', 'footprint'],
        default: 'time',
        summary: 'along the track; to the nearest side; from the farthest place reached without power',
      },
      boundary: { type: 'boundary', summary: 'boundary of tables.yaml' },
      latitude: { type: 'parameter', unit: 'deg', summary: 'of the aircraft' },
      longitude: { type: 'parameter', unit: 'deg', summary: 'of the aircraft' },
      'ground speed': { type: 'parameter', unit: 'kt', optional: true, summary: 'for time' },
      track: { type: 'parameter', unit: 'deg', optional: true, summary: 'for time; from true north' },
      height: { type: 'parameter', unit: 'ft', optional: true, summary: 'for footprint; above the ground' },
      'glide speed': { type: 'quantity', unit: 'm/s', least: 0, optional: true, summary: 'airspeed without power' },
      'glide descent': { type: 'quantity', unit: 'm/s', least: 0.1, optional: true, summary: 'descent without power' },
      'wind speed': { type: 'parameter', unit: 'kt', optional: true, summary: 'for footprint; default: still air' },
      'wind direction': { type: 'parameter', unit: 'deg', optional: true, summary: 'where it comes from, true north' },
      'longest without position': {
        type: 'duration',
        optional: true,
        summary: 'from then on the boundary counts as reached; default: it cannot be told',
      },
    },
  }),
  mass: kind({
    number: 19,
    summary: 'mass, centre of gravity and fuel, now and predicted; gauges against flow',
    measure: {
      by: 'measure',
      units: { mass: 'kg', CG: 'm', fuel: 'kg', 'time to CG': 's', 'time to fuel': 's', 'gauge difference': 'kg' },
    },
    sides: 'both',
    parameter: 'driver',
    settings: {
      measure: {
        type: 'choice',
        of: ['mass', 'CG', 'fuel', 'time to CG', 'time to fuel', 'gauge difference'],
        summary: 'now; seconds until a limit; gauges less what the flow has left',
      },
      empty: { type: 'quantity', unit: 'kg', least: 1, summary: 'mass without fuel' },
      'empty CG': { type: 'quantity', unit: 'm', summary: 'centre of gravity without fuel, from the datum' },
      tanks: { type: 'parameters', unit: 'kg', least: 1, most: 12, summary: 'contents of each tank' },
      arms: { type: 'quantities', unit: 'm', least: 1, most: 12, summary: 'arm of each tank, from the datum' },
      'fuel flow': { type: 'parameter', unit: 'kg/h', optional: true, summary: 'what the engine burns' },
      'feed tank': { type: 'whole', default: 1, least: 1, most: 12, summary: 'tank it burns from: 1 = the first' },
      'CG limit': { type: 'quantity', unit: 'm', optional: true, summary: 'for time to CG' },
      side: { type: 'choice', of: ['aft', 'forward'], default: 'aft', summary: 'which limit of the CG that is' },
      'fuel limit': { type: 'quantity', unit: 'kg', optional: true, summary: 'for time to fuel' },
    },
  }),
} as const satisfies Record<string, LimitKind>;

export type KindName = keyof typeof limitKinds;

/** The settings of one kind once loaded: those with a default always have a value. */
export type SettingsOf<K extends KindName> = {
  readonly [N in keyof (typeof limitKinds)[K]['settings']]: (typeof limitKinds)[K]['settings'][N] extends infer S extends
    Setting
    ? S extends { optional: true }
      ? ValueOf<S> | undefined
      : ValueOf<S>
    : never;
};

/** Unit of what a limit measures, as the unit table spells it; '' for a state. `watched`: unit of its parameter. */
export function measureUnit(
  limit: { kind: KindName; settings?: Readonly<Record<string, unknown>> },
  watched: string,
): string {
  const { measure }: LimitKind = limitKinds[limit.kind];
  const unit = typeof measure === 'string' ? measure : (measure.units[String(limit.settings?.[measure.by])] ?? '1');
  return unit === 'state' ? '' : spelt(unit, watched);
}
