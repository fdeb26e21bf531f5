/** The one list of limit kinds: a new kind is one line here and one file in kinds/. */
import type { Limit } from '../../protocol/limit.ts';
import type { CompileKind } from './kind.ts';
import { compileLevel } from './kinds/level.ts';

export const limitKinds: { [K in Limit['kind']]: CompileKind<Extract<Limit, { kind: K }>> } = {
  level: compileLevel,
};
