/**
 * Every stage compiled for a mission, or all that is wrong with it. Beside the pipeline, which drives them, only this file
 * knows two stages at once.
 */
import type { Finding } from '../protocol/finding.ts';
import type { Limit } from '../protocol/limit.ts';
import type { Mission } from '../protocol/mission.ts';
import type { CountFormat } from '../protocol/parameter.ts';
import { type Alarm, compileAlarm } from './alarm/alarm.ts';
import { type Check, compileCheck } from './check/check.ts';
import { compileConduct, type Conduct } from './conduct/conduct.ts';
import { compileConvert, type Convert } from './convert/convert.ts';
import { compileDecode, type Decode, type OpenFrame } from './decode/decode.ts';
import { fieldFormats } from './decode/mapping.ts';
import { compileDerive, type Derive, describeFunctions, explain } from './derive/derive.ts';
import { Select } from './select/select.ts';
import { Watch } from './select/watch.ts';

/** One of each, for a mission in force. `check` is exchanged when a limit is changed in flight. */
export interface Stages {
  decode: Decode;
  select: Select<OpenFrame>;
  watch: Watch;
  convert: Convert;
  derive: Derive;
  check: Check;
  alarm: Alarm;
  conduct: Conduct;
}

/** Compiles every stage for a mission: the stages, or all that is wrong. */
export function compileStages(mission: Mission): { stages?: Stages; findings: Finding[] } {
  const decode = compileDecode(mission);
  const convert = compileConvert(mission);
  const derive = compileDerive(mission);
  const check = compileCheck(mission);
  const alarm = compileAlarm(mission);
  const conduct = compileConduct(mission);
  const findings = [decode, convert, derive, check, alarm, conduct].flatMap((stage) => stage.findings as Finding[]);
  if (!decode.value || !convert.value || !derive.value || !check.value || !alarm.value || !conduct.value) {
    return { findings };
  }
  const opener = decode.value;
  const reopen = (bytes: Uint8Array) => {
    const opened = opener.open(bytes);
    return 'refused' in opened ? undefined : opened;
  };
  return {
    stages: {
      decode: opener,
      select: new Select(mission, reopen),
      watch: new Watch(mission),
      convert: convert.value,
      derive: derive.value,
      check: check.value,
      alarm: alarm.value,
      conduct: conduct.value,
    },
    findings,
  };
}

/** All that the stages have to say against a mission; empty when it can be put in force. */
export const compilePipeline = (mission: Mission): Finding[] => compileStages(mission).findings;

/** What a derived parameter becomes when its formula is compiled, for people; throws when there is none of that name. */
export const explainDerived = (mission: Mission, id: string): string => explain(mission, id);

/** In which format each field of a stream of another make is kept; those that cannot be are left out. */
export const streamFormats = (mission: Pick<Mission, 'groups' | 'parameters' | 'mapping'>): Map<string, CountFormat> =>
  fieldFormats(mission);

/** Every function of the formula language, for people. */
export const formulaFunctions = describeFunctions;

/** The check stage for a mission with these limits in place of its own: the stage, or why it cannot be, in words. */
export function checkWith(mission: Mission, limits: Limit[]): { check: Check } | { reason: string } {
  const { value, findings } = compileCheck({ ...mission, limits });
  if (value) return { check: value };
  return { reason: findings.map(({ found, expected }) => `${found}, expected ${expected}`).join('; ') };
}
