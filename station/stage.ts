/**
 * What every stage of the pipeline is. A stage is compiled from a mission, or the mission gets findings; it is handed
 * its input, writes into arrays it owns, and knows nothing of the stages around it. Everything it carries from one
 * batch to the next can be saved and restored, and no result depends on how samples are cut into batches.
 */
export interface Stateful {
  /** Plain data and typed arrays; may share memory with the stage, so the caller serializes it at once. */
  save(): unknown;
  /** Copies a saved state in; throws an Error that says what does not fit. */
  restore(state: unknown): void;
}
