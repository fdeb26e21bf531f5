/** The one list of limit kinds at work: a new kind is a row of protocol/limit-kinds.ts, one line here, one file in kinds/. */
import type { KindName } from '../../protocol/limit-kinds.ts';
import type { CompileKind } from './kind.ts';
import { compileDepends } from './kinds/depends.ts';
import { compileLevel } from './kinds/level.ts';
import { compilePeak } from './kinds/peak.ts';
import { compileOrder } from './kinds/order.ts';
import { compileRate } from './kinds/rate.ts';
import { compileTimeAtLevel } from './kinds/time-at-level.ts';
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
  'time at level': { measure: compileTimeAtLevel },
  peak: { measure: compilePeak },
  depends: { measure: compileDepends },
};
