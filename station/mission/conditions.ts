/**
 * Conditions written where they are needed: in phases.yaml and among the settings of a limit. Each is the name of a
 * parameter, or a formula that becomes a derived parameter of its own, which lists of parameters leave out.
 */
import type { Derived } from '../../protocol/parameter.ts';
import type { ParameterNames } from './parameters.ts';
import { unknown } from './names.ts';
import { caps, type Path, type Source, shown } from './source.ts';

const name = /^\s*([A-Za-z]\w*)\s*$/;

/**
 * The id of the parameter that is not zero while the condition holds: `text` itself where that is a name, else a derived
 * parameter added to `names.generated`, with `idBase` for an id (it has a dot or a hyphen, so that no file can name it).
 * `drivenBy` names a parameter or rate group; '' = the fastest group among what the formula names. Where the condition
 * cannot be used the answer is among the broken names. What is wrong inside a formula the derive stage finds, at its place
 * in `source`.
 */
export function condition(
  source: Source,
  path: Path,
  text: string,
  drivenBy: string,
  idBase: string,
  names: ParameterNames,
): string {
  const alone = name.exec(text)?.[1];
  if (alone !== undefined) return isTruth(source, path, alone, names) ? alone : broken(names, idBase);
  const inputs = namesIn(text);
  const driver = drivenBy || fastestGroup(inputs, names);
  const isBroken = inputs.some((input) => names.broken.has(input)) || names.broken.has(driver);
  if (isBroken || groupOf(driver, names) === undefined) return broken(names, idBase);
  if (names.generated.size >= caps.list) {
    source.add('bad-value', path, 'one more formula as a condition', `at most ${caps.list} of them in a mission`);
    return broken(names, idBase);
  }
  // a limit may bear the name of the parameter that holds the phases
  const id = names.generated.has(idBase) ? `${idBase}'${names.generated.size}` : idBase;
  const place = source.textPlace(path);
  const made: Derived = { id, name: text, unit: '1', drivenBy: driver, formula: text, condition: true, place };
  names.generated.set(id, made);
  return id;
}

function broken(names: ParameterNames, id: string): string {
  names.broken.add(id);
  return id;
}

/** A parameter that is a number or a discrete: of a speed nobody can say whether it is true. */
function isTruth(source: Source, path: Path, id: string, names: ParameterNames): boolean {
  const known = names.parameters.get(id);
  if (known === undefined) unknown(source, path, id, 'parameter', names.parameters.names());
  else if (known.unit !== undefined && known.unit.name !== '1')
    source.add('unit-clash', path, `${shown(id)}, in ${known.unit.name}`, 'a condition: a discrete, or a formula');
  else return !names.broken.has(id);
  return false;
}

/** What a formula names: words that are not inside a unit or the name of a state. Functions and signs are among them. */
export const namesIn = (formula: string): string[] =>
  formula.replace(/\[[^\]]*\]|"[^"]*"|'[^']*'/g, ' ').match(/[A-Za-z]\w*/g) ?? [];

/** Rate group whose samples bring what a name stands for; undefined where nothing tells. */
export function groupOf(id: string, names: ParameterNames): string | undefined {
  const seen = new Set<string>();
  for (let at: string | undefined = id; at !== undefined && !seen.has(at); ) {
    if (names.groups.has(at)) return at;
    seen.add(at);
    at = names.parameters.get(at)?.drivenBy;
  }
  return undefined;
}

/** The group of the highest rate among these names; the fastest of all where none of them has one. '' = no group at all. */
export function fastestGroup(inputs: readonly string[], names: ParameterNames): string {
  const groups = inputs.flatMap((input) => groupOf(input, names) ?? []);
  let best = '';
  for (const id of groups.length > 0 ? groups : names.groups.names())
    if (best === '' || (names.groups.get(id) ?? 0) > (names.groups.get(best) ?? 0)) best = id;
  return best;
}

/** The generated ones of which everything they stand on is whole. */
export const wholeConditions = (names: ParameterNames): Derived[] =>
  [...names.generated.values()].filter(({ id }) => !names.broken.has(id));
