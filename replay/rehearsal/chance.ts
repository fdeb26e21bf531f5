/**
 * Seeded chance for the rehearsal: the same seed gives the same numbers on every machine. Generator: the xorshift of
 * Marsaglia (Journal of Statistical Software 8(14), 2003), four words of state; normal deviates by his polar method.
 */
export class Chance {
  private x: number;
  private y: number;
  private z: number;
  private w: number;
  private spare = Number.NaN;

  /** Streams of one seed with different names are independent: more draws in one do not shift another. */
  constructor(seed: number, stream: string) {
    let hash = seed >>> 0;
    const stir = (word: number): number => {
      hash = Math.imul(hash ^ word, 0x9e3779b1);
      hash ^= hash >>> 15;
      hash = Math.imul(hash, 0x85ebca77);
      hash ^= hash >>> 13;
      return hash >>> 0;
    };
    stir(Math.floor(seed / 2 ** 32) >>> 0);
    for (let i = 0; i < stream.length; i++) stir(stream.charCodeAt(i));
    this.x = stir(1);
    this.y = stir(2);
    this.z = stir(3);
    this.w = stir(4) | 1; // never all zero
  }

  /** Uniform in 0 <= u < 1. */
  uniform(): number {
    const t = this.x ^ (this.x << 11);
    this.x = this.y;
    this.y = this.z;
    this.z = this.w;
    this.w = this.w ^ (this.w >>> 19) ^ t ^ (t >>> 8);
    return (this.w >>> 0) / 2 ** 32;
  }

  /** Normal, mean 0, standard deviation 1. */
  normal(): number {
    if (this.spare === this.spare) {
      const kept = this.spare;
      this.spare = Number.NaN;
      return kept;
    }
    for (;;) {
      const u = 2 * this.uniform() - 1;
      const v = 2 * this.uniform() - 1;
      const s = u * u + v * v;
      if (s >= 1 || s === 0) continue;
      const factor = Math.sqrt((-2 * Math.log(s)) / s);
      this.spare = v * factor;
      return u * factor;
    }
  }
}
