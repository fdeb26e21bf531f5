/** The one list of limit kinds at work: a new kind is a row of protocol/limit-kinds.ts, one line here, one file in kinds/. */
import type { KindName } from '../../protocol/limit-kinds.ts';
import type { CompileKind } from './kind.ts';
import { compileControlMargin } from './kinds/control-margin.ts';
import { compileDamping } from './kinds/damping.ts';
import { compileDepends } from './kinds/depends.ts';
import { compileLevel } from './kinds/level.ts';
import { compileMiscompare } from './kinds/miscompare.ts';
import { compilePeak } from './kinds/peak.ts';
import { compileLoad } from './kinds/load.ts';
import { compileOffHarmonic } from './kinds/off-harmonic.ts';
import { compileOrder } from './kinds/order.ts';
import { compilePlausibility } from './kinds/plausibility.ts';
import { compileRate } from './kinds/rate.ts';
import { compileSaturation } from './kinds/saturation.ts';
import { compileTimeAtLevel } from './kinds/time-at-level.ts';
import { compileByPhase } from './kinds/by-phase.ts';
import { compileAutomation } from './kinds/automation.ts';
import { compileSequence } from './kinds/sequence.ts';
import { compileValidity } from './kinds/validity.ts';
import { compileLogic } from './kinds/logic.ts';
import { compileCardStop } from './kinds/card-stop.ts';
import { compileHeightVelocity } from './kinds/height-velocity.ts';
import { compileVortexRing } from './kinds/vortex-ring.ts';
import { compileLowG } from './kinds/low-g.ts';
import { compileContainment } from './kinds/containment.ts';
import { compileMass } from './kinds/mass.ts';
import { compileTrend } from './kinds/trend.ts';
import { compileTracking } from './kinds/tracking.ts';
import type { CompileMeasure } from './measured.ts';

export type KindAtWork<K extends KindName> =
  /** checks columns of parameters by itself */
  | { own: CompileKind }
  /** measures something, one column a limit, on which levels work */
  | { measure: CompileMeasure<K> }
  /** speaks of other limits: runs after them, with their changes at hand in order */
  | { combines: CompileKind };

export const kindsAtWork: { readonly [K in KindName]: KindAtWork<K> } = {
  level: { own: compileLevel },
  rate: { measure: compileRate },
  order: { measure: compileOrder },
  'off-harmonic': { measure: compileOffHarmonic },
  load: { measure: compileLoad },
  trend: { measure: compileTrend },
  damping: { measure: compileDamping },
  'time at level': { measure: compileTimeAtLevel },
  peak: { measure: compilePeak },
  depends: { measure: compileDepends },
  miscompare: { measure: compileMiscompare },
  plausibility: { measure: compilePlausibility },
  'control margin': { measure: compileControlMargin },
  tracking: { measure: compileTracking },
  saturation: { measure: compileSaturation },
  'by phase': { own: compileByPhase },
  automation: { measure: compileAutomation },
  sequence: { measure: compileSequence },
  validity: { measure: compileValidity },
  logic: { combines: compileLogic },
  'card stop': { measure: compileCardStop },
  'height-velocity': { measure: compileHeightVelocity },
  'vortex ring': { measure: compileVortexRing },
  'low g': { measure: compileLowG },
  containment: { measure: compileContainment },
  mass: { measure: compileMass },
};
