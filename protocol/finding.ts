/**
 * One thing wrong with a file somebody wrote: collected, never thrown one by one, so that a person sees all of them at
 * once. Every code the product can report is in `findingCodes`; README.md lists the same ones.
 */
export interface Finding {
  code: FindingCode;
  file: string;
  /** 1-based; 0 when the trouble is the whole file */
  line: number;
  /** 1-based; 0 when the trouble is the whole line */
  column: number;
  /** what stands there, as written */
  found: string;
  /** what was expected instead */
  expected: string;
  /** how to mend it, when there is a likely way */
  hint?: string;
}

export const findingCodes = {
  'file-missing': 'a file the mission folder needs is not there or cannot be read',
  'yaml-syntax': 'not well-formed YAML',
  'wrong-shape': 'a value of the wrong type, a missing or an unknown key',
  'duplicate-name': 'two things of one kind bear one name',
  'unknown-name': 'a name that nothing defines',
  'unknown-unit': 'a unit that the unit table lacks',
  'unit-clash': 'two quantities of different dimension are combined',
  'formula-syntax': 'a formula that cannot be read',
  'formula-arguments': 'a function is given the wrong arguments',
  'formula-cycle': 'derived parameters that depend on each other in a circle',
  'phase-unreachable': 'a phase of flight that no transition leads to',
  'formula-undefined': 'an operation that can never have a value',
  'calibration-unusable': 'a calibration that cannot be computed',
  'calibration-untraced': 'a calibration without source or date under a value that a limit watches',
  'limit-order': 'limit values or levels in an order that makes no sense',
  'first-action-missing': 'a limit whose first action says nothing',
  'consequence-missing': 'a warning or stop without a time to consequence',
  'consequence-too-soon': 'a warning or stop too late for a person to act on, which no automation backs',
  'watch-overload': 'more limits than a position can watch actively',
  'validity-missing': 'a parameter under a warning or stop without a rule that tells a bad value',
  'source-missing': 'a limit whose source says nothing, or that it was guessed',
  'release-missing': 'a stop limit without author or approver, or a limit approved by its author',
  'outside-aircraft-limit': 'a stop of a test card that is not inside the aircraft limit it names',
  'stop-suppressed': 'a stop limit that is suppressed in some phase',
  'stop-unwatched': 'a stop limit watched from a position that nobody holds',
  'weight-outside': 'a planned fuel state, or a place on the way to the next, outside the test envelope',
  'cause-cycle': 'alarms that explain each other in a circle',
  'build-up-cycle': 'test points that build up from each other in a circle',
  'hazard-unmitigated': 'a hazard without a mitigation',
  'mitigation-uncontrolled': 'a mitigation that no limit, checklist, card or procedure holds up',
  'hazard-uncontrolled': 'a catastrophic or critical hazard that no limit with a warning or stop watches',
  'control-unwatched': 'a hazard or one of its limits in the hands of a position that nobody holds',
  'orphan-control': 'a warning or stop limit that is a control of no hazard',
  'bad-value': 'a number or text outside what is allowed',
  'mapping-unusable': 'a mapping file that does not fit the file it maps',
  'proto-syntax': 'a .proto file that cannot be read',
  'import-line': 'a line of an imported file that cannot be read',
} as const;

export type FindingCode = keyof typeof findingCodes;

/** `file:line:column: code: found X, expected Y (hint)`, the form every command prints. */
export function findingText(finding: Finding): string {
  const place = [finding.file, finding.line || '', finding.column || ''].filter((part) => part !== '').join(':');
  const hint = finding.hint ? ` (${finding.hint})` : '';
  return `${place}: ${finding.code}: found ${finding.found}, expected ${finding.expected}${hint}`;
}

/** A value, or all that is wrong with where it came from. */
export type Checked<T> = { value: T; findings: [] } | { value: undefined; findings: Finding[] };

/** Nearest of `names` to a misspelt one (edit distance at most a third of its length), for a hint. */
export function nearestName(name: string, names: Iterable<string>): string | undefined {
  let best: string | undefined;
  let bestDistance = Math.max(1, Math.floor(name.length / 3)) + 1;
  const lower = name.toLowerCase();
  for (const candidate of names) {
    if (Math.abs(candidate.length - name.length) >= bestDistance) continue;
    const distance = editDistance(lower, candidate.toLowerCase(), bestDistance);
    if (distance < bestDistance) {
      best = candidate;
      bestDistance = distance;
    }
  }
  return best;
}

/** Edits from one to the other, two letters swapped counting as one (optimal string alignment); gives up at `ceiling`. */
function editDistance(a: string, b: string, ceiling: number): number {
  if (Math.abs(a.length - b.length) >= ceiling) return ceiling;
  let before: number[] = [];
  let previous = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const current = [i];
    let rowLeast = i;
    for (let j = 1; j <= b.length; j++) {
      const substitute = (previous[j - 1] as number) + (a[i - 1] === b[j - 1] ? 0 : 1);
      let least = Math.min(substitute, (previous[j] as number) + 1, (current[j - 1] as number) + 1);
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1])
        least = Math.min(least, (before[j - 2] as number) + 1);
      current.push(least);
      if (least < rowLeast) rowLeast = least;
    }
    // rows never fall, and a swap, which reaches back over one of them, adds 1
    if (rowLeast >= ceiling) return ceiling;
    before = previous;
    previous = current;
  }
  return previous[b.length] as number;
}
