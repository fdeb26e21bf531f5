/**
 * Whether a person may act: who they are, where they sit, whether their message is new, and what the role table says.
 * Everything is decided from the entry, so that a replay decides it again; every attempt is an entry, refused ones too.
 */
import type { ActionEntry } from '../../protocol/entry.ts';
import type { Mission } from '../../protocol/mission.ts';
import { type About, type ActionName, roleRefusal } from '../../protocol/role.ts';
import type { People } from './people.ts';
import { lateness, Requests } from './requests.ts';

/** An action in the words of the role table, and what it is about. */
export interface Named extends About {
  name: ActionName;
}

export class Authority {
  readonly requests = new Requests();
  private readonly people: People;
  private readonly briefed: readonly string[];

  constructor(mission: Mission, people: People) {
    this.people = people;
    this.briefed = mission.mayCallClass2 ?? [];
  }

  /**
   * Why the entry is refused, in words; '' when it is not. Takes its request number. `nameOf` names the action, or says
   * why it has no name; `isNew`: known by other means not to be a repetition.
   */
  refusal(entry: ActionEntry, nameOf: () => Named | string, isNew: boolean): string {
    const { action, ground, made, position, request, session } = entry;
    const isTaken = !this.requests.take(session, request) && !isNew;
    if (isOfStation(entry)) return '';
    if (action.act === 'unreadable') return `the message could not be read: ${action.fault}`;
    const person = this.people.get(entry.person);
    if (!person) return `${entry.person || 'nobody'} is not a person of this mission`;
    if (person.position !== position) {
      return `${person.name} sits at ${person.position}, not at ${position || 'no position'}`;
    }
    if (isTaken) return `request ${request} of this connection was taken already, or came out of order`;
    // those two bring the time they were made at, and are kept however late they come
    const keepsItsTime = action.act === 'stop call' || action.act === 'mark';
    const late = keepsItsTime ? '' : lateness(made, ground);
    if (late) return late;
    const named = nameOf();
    if (typeof named === 'string') return named;
    return roleRefusal(position, named.name, { briefed: this.briefed, ...named });
  }
}

/** What the station says by itself: no person is behind it, and no display can send it, since its people have ids. */
const isOfStation = ({ person, action }: ActionEntry): boolean => person === '' && action.act === 'report recorder';
