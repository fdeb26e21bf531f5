/** What a proof is given: a first seed, and how much of it there shall be. */
export interface Effort {
  seed: number;
  /** in the unit of the proof: samples */
  amount: number;
}
