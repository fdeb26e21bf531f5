/** The instruments a page may ask for, by the kind in `pages.yaml`. Kinds that are words and digits only are elements. */
import type { PageElement } from '../../protocol/mission.ts';
import type { Declared } from '../state/declared.ts';
import { Attitude } from './attitude.ts';
import { Dial } from './dial.ts';
import { StripChart } from './strip-chart.ts';
import { Tape } from './tape.ts';

export const DEFAULT_SPAN = 60;

export type DrawnInstrument = StripChart | Tape | Dial | Attitude;

/** Strip chart and attitude are one instrument for all parameters; tapes and dials are one each. */
export function makeInstruments(element: PageElement, parameters: readonly Declared[]): DrawnInstrument[] {
  switch (element.kind) {
    case 'strip chart':
      return [new StripChart(parameters, element.span ?? DEFAULT_SPAN, element.range)];
    case 'tape':
      return parameters.map((parameter) => new Tape(parameter, element.range));
    case 'dial':
      return parameters.map((parameter) => new Dial(parameter, element.range));
    case 'attitude':
      return [new Attitude(parameters)];
    default:
      return [];
  }
}
