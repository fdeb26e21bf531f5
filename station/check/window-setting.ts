/** What a window given as a setting must be for the rate group whose samples go into it. */
import { SECOND } from '../../protocol/time.ts';
import { MAX_WINDOW } from '../compute/window.ts';
import type { MeasureContext } from './measured.ts';

/** A slope needs three samples; at a fixed rate the window must be two periods long to hold them. */
const PERIODS_OF_A_SLOPE = 2;

/** True when a slope can be taken over this window, microseconds; else there is a finding. */
export const slopeFits = (setting: string, window: number, context: MeasureContext): boolean =>
  windowFits(setting, window, PERIODS_OF_A_SLOPE, context);

/** True when a window of so many microseconds spans `periods` periods of the group, and is not too long to keep. */
export function windowFits(setting: string, window: number, periods: number, context: MeasureContext): boolean {
  const { rate } = context.group;
  const least = rate > 0 ? Math.ceil((periods * SECOND) / rate) : 1;
  const most = rate > 0 ? Math.floor((MAX_WINDOW / rate) * SECOND) : Infinity;
  if (window >= least && window <= most && Number.isFinite(window)) return true;
  const whose = rate > 0 ? ` for ${rate} samples a second` : '';
  const range = window < least || !(most < Infinity) ? `at least ${least / SECOND} s` : `at most ${most / SECOND} s`;
  context.finding('bad-value', `${setting} ${window / SECOND} s`, `${range}${whose}`, { at: setting });
  return false;
}
