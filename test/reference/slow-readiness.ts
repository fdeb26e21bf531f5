/** A slow, obvious judge of the readiness poll of test/support/ready-room.ts: it keeps what people did, and asks it all again. */
import { seats } from '../support/ready-room.ts';

export class SlowReadiness {
  heard = false;
  /** seconds since the newest frame */
  silent = 0;
  idsMatch = true;
  fuelInside = false;
  loadInside = true;
  stopWatched = true;
  openCalls = 0;
  openAnomalies = 0;
  /** `position notice` */
  acknowledged = new Set<string>();
  polled = false;
  answers = new Map<string, 'ready' | 'not ready'>();

  missing(position: string): boolean {
    const room = !this.heard || this.silent > 1 || !this.idsMatch || this.openCalls > 0 || this.openAnomalies > 0;
    const weight = !this.heard || this.silent > 0.5 || !this.fuelInside || !this.loadInside;
    const read = (one: string) => ['gains', 'flow'].every((notice) => this.acknowledged.has(`${one} ${notice}`));
    if (position === 'test director') return room || weight || !this.stopWatched || !seats.every(read);
    return room || !read(position) || (position === 'test conductor' && weight);
  }

  /** The answers that hold at this moment. */
  holding(): Map<string, string> {
    const result = new Map<string, string>();
    for (const position of seats) {
      const answer = this.answers.get(position) ?? '';
      result.set(position, answer === 'ready' && this.missing(position) ? '' : answer);
    }
    const others = seats.filter((position) => position !== 'test director');
    const isDirector = result.get('test director') === 'ready';
    if (isDirector && !others.every((position) => result.get(position) === 'ready')) result.set('test director', '');
    return result;
  }

  /** Takes away for good what does not hold. */
  settle(): void {
    for (const [position, answer] of this.holding()) if (answer === '') this.answers.delete(position);
  }

  /** Whether 'ready' is to be taken from a position. */
  takes(position: string): boolean {
    const others = seats.filter((one) => one !== 'test director');
    const waits = position === 'test director' && !others.every((one) => this.holding().get(one) === 'ready');
    return this.polled && !this.missing(position) && !waits;
  }

  get ready(): boolean {
    return this.polled && [...this.holding().values()].every((answer) => answer === 'ready');
  }
}
