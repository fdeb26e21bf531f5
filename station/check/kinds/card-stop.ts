/** Kind `card stop`: the stop limit of a test card, inside a limit of the aircraft, on the watched value itself. */
import type { FindingCode } from '../../../protocol/finding.ts';
import { levels } from '../../../protocol/limit.ts';
import type { MeasureInput } from '../held.ts';
import type { CompileMeasure, MeasureContext, MeasureOutput, MeasureSpan } from '../measured.ts';
import { StatelessMeasure } from '../stateless.ts';

export const compileCardStop: CompileMeasure<'card stop'> = (limit, context) => {
  let isRight = true;
  const wrong = (code: FindingCode, found: string, expected: string, at: string): void => {
    isRight = false;
    context.finding(code, found, expected, { at });
  };
  for (const side of ['above', 'below'] as const) {
    const others = levels.filter((level) => level !== 'stop' && limit[side]?.[level] !== undefined);
    if (others.length > 0) wrong('wrong-shape', `${side} ${others.join(', ')}`, 'stop, the only level of a card', side);
  }
  const around = aircraftLimit(limit.settings.inside, context);
  if (around === undefined) {
    wrong('unknown-name', `inside ${limit.settings.inside}`, 'the id of a limit of the aircraft', 'inside');
  } else if (around.kind === 'card stop') {
    wrong('bad-value', `inside ${around.id}, a stop limit itself`, 'a limit of the aircraft', 'inside');
  }
  return isRight ? { measure: new Watched(), inputs: [limit.parameter] } : undefined;
};

const aircraftLimit = (id: string, { mission }: MeasureContext) => mission.limits.find((limit) => limit.id === id);

class Watched extends StatelessMeasure {
  run({ length }: MeasureSpan, [watched]: readonly MeasureInput[], out: MeasureOutput): void {
    const { values, validity } = watched as MeasureInput;
    for (let i = 0; i < length; i++) {
      out.values[i] = values[i] as number;
      out.validity[i] = validity[i] as number;
    }
  }
}
