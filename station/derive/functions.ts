/**
 * The one list of functions a formula may call. A new function is one entry in a file of library/ and the function itself:
 * in station/compute/ when it is arithmetic, beside memory.ts when it remembers earlier samples.
 */
import type { FormulaFunction } from './function.ts';
import { airFunctions } from './library/air.ts';
import { arithmetic } from './library/arithmetic.ts';
import { massFunctions } from './library/mass.ts';
import { places } from './library/places.ts';
import { remembering } from './library/remembering.ts';
import { rotorFunctions } from './library/rotor.ts';
import { votes } from './library/votes.ts';

const list = [...arithmetic, ...votes, ...airFunctions, ...rotorFunctions, ...massFunctions, ...places, ...remembering];

export const functions: ReadonlyMap<string, FormulaFunction> = new Map(list.map((one) => [one.name, one]));
