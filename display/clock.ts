/** When things are drawn: pictures with the screen, numerals four times a second, the link looked at ten times. */
export type Beat = 'frame' | 'numerals' | 'watch';

const NUMERALS_MS = 250;
const WATCH_MS = 100;

export class Clock {
  readonly #listeners: Record<Beat, Set<(now: number) => void>> = {
    frame: new Set(),
    numerals: new Set(),
    watch: new Set(),
  };

  /** Milliseconds of this machine, never going back. */
  now(): number {
    return performance.now();
  }

  /** Gives back what ends the listening. */
  on(beat: Beat, listener: (now: number) => void): () => void {
    this.#listeners[beat].add(listener);
    return () => this.#listeners[beat].delete(listener);
  }

  #beat(beat: Beat): void {
    const now = this.now();
    for (const listener of this.#listeners[beat]) listener(now);
  }

  start(): void {
    const frame = (): void => {
      requestAnimationFrame(frame);
      this.#beat('frame');
    };
    requestAnimationFrame(frame);
    setInterval(() => this.#beat('numerals'), NUMERALS_MS);
    // a timer, not a picture: a hidden window must notice a silent link too
    setInterval(() => this.#beat('watch'), WATCH_MS);
  }
}
