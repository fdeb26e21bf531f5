/** What the stages around it know when a person acts. Made for each action, so everything dear is asked for by a call. */
import type { LatestView, RoomView } from '../../protocol/fold.ts';
import type { Limit } from '../../protocol/limit.ts';

export interface Situation {
  /** newest sample of every column */
  latest: LatestView;
  /** the room as it is before the action */
  room(): Pick<RoomView, 'alarms' | 'cannotTell' | 'phase' | 'receivers' | 'stream'>;
  /** why the check stage could not work by these limits, in words; '' when it can */
  judge(limits: Limit[]): string;
}
