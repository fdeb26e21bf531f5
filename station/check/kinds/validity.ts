/** Kind `validity`: 1 while any of some parameters is not usable, for any reason or for one. */
import { FIRST_UNUSABLE, Validity, validityReason } from '../../../protocol/validity.ts';
import type { MeasureInput } from '../held.ts';
import type { CompileMeasure, MeasureOutput, MeasureSpan } from '../measured.ts';
import { StatelessMeasure } from '../stateless.ts';
import { NO, type Truth, UNSURE, YES } from '../truth.ts';

/** Codes by the name of the setting; 0 stands for any. */
const codeOfReason: Readonly<Record<string, number>> = {
  any: 0,
  link: Validity.link,
  'bad checksum': Validity.frame,
  'rate wrong': Validity.rate,
  stale: Validity.stale,
  frozen: Validity.frozen,
  'out of range': Validity.range,
  implausible: Validity.plausible,
};

export const compileValidity: CompileMeasure<'validity'> = ({ parameter, settings }, { mission }) => {
  const inputs = settings.parameters ?? [parameter];
  const reason = codeOfReason[settings.reason ?? 'any'] as number;
  const received = new Set(mission.parameters.map(({ id }) => id));
  const stale = validityReason(Validity.stale);
  // what is received has no inputs: the code says that its newest sample is too old
  const words = (id: string, code: number): string =>
    `${id}: ${code === Validity.input && received.has(id) ? stale : validityReason(code)}`;
  const names = [stale];
  for (const id of inputs) for (let code = FIRST_UNUSABLE; code <= Validity.none; code++) names.push(words(id, code));
  const seesStale = reason === 0 || reason === Validity.stale;
  return {
    measure: new AnyUnusable(
      reason,
      inputs.map((id) => received.has(id)),
    ),
    inputs,
    names,
    ...(seesStale && { stale: 1 }),
  };
};

const CODES = Validity.none - FIRST_UNUSABLE + 1;

class AnyUnusable extends StatelessMeasure {
  private readonly reason: number;
  private readonly received: readonly boolean[];

  constructor(reason: number, received: readonly boolean[]) {
    super();
    this.reason = reason;
    this.received = received;
  }

  run({ length }: MeasureSpan, inputs: readonly MeasureInput[], out: MeasureOutput): void {
    for (let i = 0; i < length; i++) {
      let result: Truth = NO;
      for (let k = 0; k < inputs.length && result !== YES; k++) {
        const { values, validity } = inputs[k] as MeasureInput;
        const code = validity[i] as number;
        // a number that is none has no value, whatever its code
        const broken = code < FIRST_UNUSABLE && values[i] !== values[i] ? Validity.undefined : code;
        const said = this.judge(broken, this.received[k] as boolean);
        if (said === NO) continue;
        result = said;
        out.which[i] = 1 + k * CODES + broken - FIRST_UNUSABLE;
      }
      out.values[i] = result === YES ? 1 : 0;
      if (result === UNSURE) out.validity[i] = Validity.input;
    }
  }

  /** The first link of the chain that breaks gives the code, so those after it were not looked at. */
  private judge(code: number, received: boolean): Truth {
    if (code < FIRST_UNUSABLE) return NO;
    const { reason } = this;
    if (reason === 0) return YES;
    const told = code === Validity.input && received ? Validity.stale : code;
    if (told === reason) return YES;
    return told > reason && told <= Validity.plausible ? NO : UNSURE;
  }
}
