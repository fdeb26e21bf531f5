/**
 * The readiness poll. Every manned position answers for itself, and the test director, last, for the room. An answer holds
 * only while nothing is missing: when an act, a sample or silence of the link leaves something missing for it, it falls, and
 * the position is asked again. That of the test director falls as well when another one falls or turns to not ready.
 */
import type { Done, Missing, ReadinessView } from '../../protocol/conduct.ts';
import type { ActionEntry } from '../../protocol/entry.ts';
import type { Position } from '../../protocol/role.ts';
import type { AircraftTime, GroundTime } from '../../protocol/time.ts';

interface Answer {
  /** '' = it was ready, and fell; `text` says why */
  answer: 'ready' | 'not ready' | '';
  text: string;
  person: string;
  ground: GroundTime;
}
type Answers = Partial<Record<Position, Answer>>;

interface SavedPoll {
  opened: Done | null;
  answers: Answers;
}

/** Who answers for the room. */
const ROOM: Position = 'test director';

export class Poll {
  private readonly manned: readonly Position[];
  private opened: Done | null = null;
  private answers: Answers = {};

  constructor(manned: readonly Position[]) {
    this.manned = manned;
  }

  /** Whether there is a 'ready' that could fall. */
  get holds(): boolean {
    return this.manned.some((position) => this.answers[position]?.answer === 'ready');
  }

  /** Asks every position anew. */
  open({ person, position, ground }: ActionEntry, aircraft: AircraftTime): string {
    this.opened = { person, position, aircraft, ground };
    this.answers = {};
    return '';
  }

  answer(entry: ActionEntry, choice: string, text: string, missing: readonly Missing[]): string {
    const position = this.manned.find((one) => one === entry.position);
    if (position === undefined) return `${entry.position} is not asked`;
    if (this.opened === null) return 'no readiness poll is open';
    if (choice !== 'ready' && choice !== 'not ready') return `${choice || 'nothing'} is no answer: ready or not ready`;
    if (choice === 'not ready' && text === '') return 'not ready says why';
    if (choice === 'ready') {
      const list = [...missingFor(position, missing).map(said), ...this.waiting(position, missing)];
      if (list.length > 0) return `${position === ROOM ? 'the room' : position} is not ready: ${list.join('; ')}`;
    }
    this.answers[position] = { answer: choice, text, person: entry.person, ground: entry.ground };
    this.fall(missing);
    return '';
  }

  /** Positions whose answer the room still waits for, when it is asked by the test director. */
  private waiting(position: Position, missing: readonly Missing[]): string[] {
    if (position !== ROOM) return [];
    const standing = this.standing(missing);
    return this.manned
      .filter((one) => one !== ROOM && standing[one]?.answer !== 'ready')
      .map((one) => `${one} ${standing[one]?.answer === 'not ready' ? 'is not ready' : 'has not answered ready'}`);
  }

  /** The answers as far as they hold while this is missing. */
  private standing(missing: readonly Missing[]): Answers {
    const result: Answers = {};
    let isRoomReady = missing.length === 0;
    for (const position of [...this.manned.filter((one) => one !== ROOM), ROOM]) {
      const answer = this.answers[position];
      if (answer?.answer === 'ready') {
        const [first] = missingFor(position, missing);
        const why = first?.text ?? (position === ROOM && !isRoomReady ? 'another position is no longer ready' : '');
        result[position] = why === '' ? answer : { ...answer, answer: '', text: `no longer ready: ${why}` };
      } else if (answer) result[position] = answer;
      if (position !== ROOM && result[position]?.answer !== 'ready') isRoomReady = false;
    }
    return result;
  }

  /** Takes away every answer that does not hold while this is missing. */
  fall(missing: readonly Missing[]): void {
    if (this.holds) this.answers = this.standing(missing);
  }

  view(missing: readonly Missing[]): ReadinessView['poll'] {
    const standing = this.standing(missing);
    const answers = this.manned.map((position) => {
      const { answer = '', text = '', person = '', ground = 0 } = standing[position] ?? {};
      return { position, answer, text, person, ground } as const;
    });
    const isEvery = answers.length > 0 && answers.every(({ answer }) => answer === 'ready');
    return { opened: this.opened, answers, ready: this.opened !== null && isEvery && missing.length === 0 };
  }

  /** Of another pack: nobody has said to be ready by it. */
  close(): void {
    this.opened = null;
    this.answers = {};
  }

  save(): unknown {
    const { opened, answers } = this;
    return { opened, answers } satisfies SavedPoll;
  }

  restore(state: unknown): void {
    const saved = state as Partial<SavedPoll> | undefined;
    if (typeof saved?.answers !== 'object') throw new Error('saved readiness lacks the answers of its poll');
    this.opened = structuredClone(saved.opened ?? null);
    this.answers = structuredClone(saved.answers);
  }
}

/** What a position waits for: its own, and what the whole room waits for; the test director for everything. */
const missingFor = (position: Position, missing: readonly Missing[]): Missing[] =>
  missing.filter((one) => position === ROOM || one.position === '' || one.position === position);

const said = ({ position, text }: Missing): string => (position === '' ? text : `${position}: ${text}`);
