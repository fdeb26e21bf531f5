/** Everything a mission names, and what is known of it while the rest is still being read. */
import { nearestName } from '../../protocol/finding.ts';
import type { Unit } from '../../protocol/units.ts';
import { meant } from './shape.ts';
import { caps, isReserved, type Path, type Place, type Source, shown } from './source.ts';

/** What is known of a parameter, received or derived. Absent = it is wrong where it is declared, and said there. */
export interface Known {
  unit?: Unit;
  range?: [number, number];
  hasStates: boolean;
  /** rate group of a received one; what drives a derived one */
  drivenBy?: string;
}

/** One kind of thing that bears names. */
export class Names<T> {
  readonly kind: string;
  #places = new Map<string, Place>();
  #known = new Map<string, T>();

  constructor(kind: string) {
    this.kind = kind;
  }

  /** Takes a name, once. */
  declare(source: Source, path: Path, name: string, what: T) {
    const first = this.#places.get(name);
    if (isReserved(name)) source.add('bad-value', path, shown(name), 'a name that is not reserved');
    else if (first !== undefined)
      source.add('duplicate-name', path, shown(name), `a ${this.kind} of another name`, firstAt(first));
    else {
      this.#places.set(name, source.place(path));
      this.#known.set(name, what);
    }
  }

  has(name: string): boolean {
    return this.#known.has(name);
  }

  get(name: string): T | undefined {
    return this.#known.get(name);
  }

  place(name: string): Place | undefined {
    return this.#places.get(name);
  }

  names(): string[] {
    return [...this.#known.keys()];
  }

  /** What bears the name, or a finding with the nearest one. */
  find(source: Source, path: Path, name: string): T | undefined {
    const known = this.#known.get(name);
    if (known === undefined) unknown(source, path, name, this.kind, this.names());
    return known;
  }
}

export function unknown(source: Source, path: Path, name: string, kind: string, names: Iterable<string>) {
  // the nearest of many names takes a while to find
  const near = source.findings.length < caps.hints ? nearestName(name, names) : undefined;
  source.add('unknown-name', path, shown(name), `the name of a ${kind}`, meant(near));
}

export const firstAt = ({ file, line }: Place): string => `the first one is in ${file}, line ${line}`;
