/**
 * Who may do what: the one table, consulted by the fold and by nothing else that decides. A display uses it only to
 * grey out what would be refused. Sources: the roles of a telemetry room (common practice).
 *
 * The pilot and the chase have no position here: they speak by radio, and whoever logs a call says whose voice it was.
 */
export const positions = [
  'test director',
  'test conductor',
  'flight control',
  'engine',
  'rotor and loads',
  'handling qualities',
  'range safety',
  'instrumentation',
  'configuration',
] as const;
export type Position = (typeof positions)[number];

export const actionNames = [
  'acknowledge',
  'call stop class 1',
  'call stop class 2',
  'step stop call',
  'close stop call',
  'resume after stop call',
  'mark',
  'name flight',
  'close flight',
  'shelve',
  'take out of service',
  'tighten limit',
  'propose loosening',
  'approve loosening',
  'decline change',
  'run points',
  'decide step',
  'open anomaly',
  'close anomaly',
  'acknowledge notice',
  'open poll',
  'answer poll',
  'assign watch',
  'run morning check',
  'run control sweep',
  'set load',
  'report voice',
  'tick checklist',
  'hold evidence',
] as const;
export type ActionName = (typeof actionNames)[number];

/** `own`: with the limits and alarms that this position watches. `briefed`: when the day's mission names the position. */
export const allowances = ['yes', 'own', 'briefed', 'no'] as const;
export type Allowance = (typeof allowances)[number];
type Row = Readonly<Record<Position, Allowance>>;

/** The same for every position, but for those named. */
const row = (all: Allowance, but: Partial<Record<Position, Allowance>> = {}): Row =>
  Object.fromEntries(positions.map((position) => [position, but[position] ?? all])) as Record<Position, Allowance>;

const bothInCharge = { 'test director': 'yes', 'test conductor': 'yes' } as const;

/** Limits are changed in flight by the disciplines that stand for them, and by the test director. */
const limitsInFlight = row('no', {
  'test director': 'yes',
  'flight control': 'own',
  engine: 'own',
  'rotor and loads': 'own',
  'handling qualities': 'own',
  // the test conductor asks by voice; range safety changes the boundary, instrumentation the calibration, configuration
  // releases packs: all of that before the flight
});

export const roleTable: Readonly<Record<ActionName, Row>> = {
  // at the own position only: it silences nobody else
  acknowledge: row('yes'),
  'call stop class 1': row('yes'),
  // instrumentation for loss of data; others through the test conductor, unless briefed to speak directly
  'call stop class 2': row('briefed', { ...bothInCharge, instrumentation: 'yes' }),
  'step stop call': row('no', bothInCharge),
  'close stop call': row('no', bothInCharge),
  // to fly the same thing again as if nothing had been called is the test director's alone
  'resume after stop call': row('no', { 'test director': 'yes' }),
  mark: row('yes'),
  'name flight': row('no', bothInCharge),
  'close flight': row('no', bothInCharge),
  // an alarm's own watcher, and those who have the whole room in view
  shelve: row('own', bothInCharge),
  // nearer to a change of a limit than to shelving, since it does not come back by itself
  'take out of service': row('own', { 'test director': 'yes' }),
  'tighten limit': limitsInFlight,
  'propose loosening': limitsInFlight,
  'approve loosening': limitsInFlight,
  'decline change': limitsInFlight,
  // the test conductor owns the flow of cards, the test director the mission
  'run points': row('no', bothInCharge),
  'decide step': row('no', bothInCharge),
  'open anomaly': row('yes'),
  // to say that something was run to ground is to say that it may be flown again
  'close anomaly': row('no', { 'test director': 'yes' }),
  'acknowledge notice': row('yes'),
  'open poll': row('no', bothInCharge),
  'answer poll': row('yes'),
  'assign watch': row('own', { 'test director': 'yes' }),
  'run morning check': row('no', { instrumentation: 'yes' }),
  'run control sweep': row('no', { 'flight control': 'yes' }),
  'set load': row('no', bothInCharge),
  'report voice': row('yes'),
  'tick checklist': row('yes'),
  'hold evidence': row('no', { ...bothInCharge, instrumentation: 'yes' }),
};

/** What an action is about, as far as the table asks. */
export interface About {
  /** position that watches the limit or alarm; left out = some one of the position's own */
  watcher?: string;
  /** positions that the day's mission lets call class 2 directly */
  briefed?: readonly string[];
}

/** Whether this position may do this, as far as positions go; false for what is no position. */
export function isAllowed(position: string, action: ActionName, { watcher, briefed = [] }: About = {}): boolean {
  switch (positions.includes(position as Position) && roleTable[action][position as Position]) {
    case 'yes':
      return true;
    case 'own':
      return watcher === undefined || watcher === position;
    case 'briefed':
      return briefed.includes(position);
    default:
      return false;
  }
}

/** Why this position may not do this, in words; '' when it may. */
export function roleRefusal(position: string, action: ActionName, about: About): string {
  if (isAllowed(position, action, about)) return '';
  const those = positions.filter((one) => isAllowed(one, action, about));
  return `${position} may not ${action}; ${those.join(', ') || 'nobody'} may`;
}
