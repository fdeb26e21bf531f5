import type { WireAlarm } from '../../protocol/wire.ts';
import { START } from './mock-station.ts';

/** An alarm as the station would send it, from what matters to a test. */
export const alarmOf = (more: Partial<WireAlarm> & { id: string }): WireAlarm => ({
  level: 'warning',
  family: 'aircraft',
  condition: 'outside',
  held: true,
  acknowledgedBy: [],
  aircraftUs: START + 131_000_000,
  groundUs: START + 131_060_000,
  clearedUs: 0,
  parameter: 'NR',
  value: 94.2,
  limit: 95,
  peak: 93.6,
  text: 'Rotor speed low',
  firstAction: 'NR low: collective down',
  watcher: 'test conductor',
  ...more,
});
