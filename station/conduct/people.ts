/** Who is in the room today. Nobody is two people, whatever the ids and positions under which they sit there. */
import type { Person } from '../../protocol/mission.ts';

/** Letter case, width of letters and spacing tell nobody apart. */
export const alike = (text: string): string => text.normalize('NFKC').trim().replace(/\s+/g, ' ').toLowerCase();

export class People {
  private readonly all: readonly Person[];
  private readonly byId: ReadonlyMap<string, Person>;

  constructor(all: readonly Person[]) {
    this.all = all;
    this.byId = new Map(all.map((person) => [person.id, person]));
  }

  get(id: string): Person | undefined {
    return this.byId.get(id);
  }

  at(position: string): readonly Person[] {
    return this.all.filter((person) => person.position === position);
  }

  /** True when these ids are one person's: alike, or of people of one name. */
  areOne(one: string, other: string): boolean {
    if (alike(one) === alike(other)) return true;
    const [a, b] = [this.get(one), this.get(other)];
    return a !== undefined && b !== undefined && alike(a.name) === alike(b.name);
  }
}
