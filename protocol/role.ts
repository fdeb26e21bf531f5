/**
 * Who may do what: the one table, consulted by the fold and by nothing else that decides. A display uses it only to
 * grey out what would be refused. Sources: the roles of a telemetry room (common practice).
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
] as const;
export type ActionName = (typeof actionNames)[number];

const everyone: readonly Position[] = positions;

export const mayDo: Record<ActionName, readonly Position[]> = {
  acknowledge: everyone,
  'call stop class 1': everyone,
  // others go through the test conductor
  'call stop class 2': ['test director', 'test conductor'],
  'step stop call': ['test director', 'test conductor'],
  'close stop call': ['test director', 'test conductor'],
  // to fly the same thing again as if nothing had been called is the test director's alone
  'resume after stop call': ['test director'],
  mark: everyone,
  'name flight': ['test director', 'test conductor'],
  'close flight': ['test director', 'test conductor'],
  // an alarm's own watcher, and those who have the whole room in view
  shelve: everyone,
  'take out of service': everyone,
  // a limit's own watcher, and the test director
  'tighten limit': everyone,
  'propose loosening': everyone,
  'approve loosening': everyone,
  'decline change': everyone,
};

export const isAllowed = (position: string, action: ActionName): boolean =>
  (mayDo[action] as readonly string[]).includes(position);
