/** A shape as JSON spells it: times of both clocks are numbers there. Holds the schemas of answers to their shapes. */
export type Plain<T> = T extends number
  ? number
  : T extends readonly (infer Element)[]
    ? Plain<Element>[]
    : T extends object
      ? { [Key in keyof T]: Plain<T[Key]> }
      : T;
