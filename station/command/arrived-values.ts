/** What arrives, as a mission reads it: the latest value of every parameter, without a station. */
import type { Mission } from '../../protocol/mission.ts';
import { type GroundTime, groundTime } from '../../protocol/time.ts';
import { validityReason } from '../../protocol/validity.ts';
import { Pipeline } from '../pipeline.ts';

export interface ArrivedValue {
  id: string;
  /** absent when it is no number */
  value?: number;
  unit: string;
  /** how far it may be trusted, in words */
  validity: string;
}

export interface ValuesReport {
  /** messages that are of the mission's stream, that are not, and that cannot be read */
  used: number;
  foreign: number;
  damaged: number;
  lost: number;
  parameters: ArrivedValue[];
}

export class ArrivedValues {
  readonly #pipeline = new Pipeline({ gather: 0 });
  readonly #mission: Mission;
  #ground = groundTime(0);

  constructor(mission: Mission) {
    this.#mission = mission;
    this.#pipeline.step({ kind: 'configuration', ground: groundTime(0), mission, files: [] });
  }

  take(bytes: Uint8Array, ground: GroundTime): void {
    // the clock of the machine may be set back
    if (ground > this.#ground) this.#ground = ground;
    this.#pipeline.step({ kind: 'frame', ground: this.#ground, input: '', bytes });
  }

  report(): ValuesReport {
    this.#pipeline.flush();
    const { frames, foreign, damaged, lost } = this.#pipeline.room().stream;
    const { value, validity } = this.#pipeline.latest;
    const declared = [...this.#mission.parameters, ...this.#mission.derived];
    const parameters = declared.flatMap((one, column): ArrivedValue[] => {
      if ('condition' in one) return [];
      const number = value[column] as number;
      const reason = validityReason(validity[column] as number);
      return [{ id: one.id, ...(Number.isFinite(number) && { value: number }), unit: one.unit, validity: reason }];
    });
    return { used: frames, foreign, damaged, lost, parameters };
  }
}

export function valuesText({ used, foreign, damaged, lost, parameters }: ValuesReport): string[] {
  const number = ({ value, unit }: ArrivedValue) =>
    value === undefined ? 'no value' : `${Number(value.toPrecision(7))}${unit === '1' ? '' : ` ${unit}`}`;
  return [
    `  by the mission: ${used} messages used, ${lost} lost, ${damaged} damaged, ${foreign} of another stream`,
    ...parameters.map((one) => `    ${one.id}: ${number(one)} (${one.validity})`),
  ];
}
