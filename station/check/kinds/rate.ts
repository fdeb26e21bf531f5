/** Kind `rate`: the slope of a least-squares line through the samples of a window. */
import type { CompileMeasure } from '../measured.ts';

export const compileRate: CompileMeasure<'rate'> = () => undefined;
