/** Notices of changes of the aircraft: every manned position acknowledges each before it can be ready. */
import type { Missing, ReadinessView } from '../../protocol/conduct.ts';
import type { ActionEntry } from '../../protocol/entry.ts';
import type { Notice } from '../../protocol/readiness.ts';
import type { Position } from '../../protocol/role.ts';
import type { GroundTime } from '../../protocol/time.ts';

/** Who has read it, and which text: another one under the same id is to be read again. */
interface Acknowledgement {
  notice: string;
  text: string;
  person: string;
  position: string;
  ground: GroundTime;
}

export class NoticeBoard {
  private readonly notices: readonly Notice[];
  private acknowledged: Acknowledgement[] = [];

  constructor(notices: readonly Notice[]) {
    this.notices = notices;
  }

  /** A person acknowledges once; to do so again changes nothing. */
  acknowledge({ person, position, ground }: ActionEntry, id: string): string {
    const notice = this.notices.find((one) => one.id === id);
    if (!notice) return `there is no notice ${id}`;
    const isTold = this.of(notice).some((one) => one.person === person && one.position === position);
    if (!isTold) this.acknowledged.push({ notice: id, text: textOf(notice), person, position, ground });
    return '';
  }

  private of(notice: Notice): Acknowledgement[] {
    return this.acknowledged.filter((one) => one.notice === notice.id && one.text === textOf(notice));
  }

  missing(manned: readonly Position[]): Missing[] {
    return this.notices.flatMap((notice) => {
      const by = new Set(this.of(notice).map(({ position }) => position));
      const left = manned.filter((position) => !by.has(position));
      return left.map((position) => ({ position, text: `notice not acknowledged: ${notice.title}` }));
    });
  }

  view(): ReadinessView['notices'] {
    return this.notices.map((notice) => ({
      id: notice.id,
      acknowledged: this.of(notice).map(({ person, position, ground }) => ({ person, position, ground })),
    }));
  }

  save(): unknown {
    return this.acknowledged;
  }

  restore(state: unknown): void {
    if (!Array.isArray(state)) throw new Error('saved readiness lacks its acknowledgements');
    this.acknowledged = structuredClone(state);
  }
}

const textOf = ({ title, text }: Notice): string => `${title}\n${text}`;
