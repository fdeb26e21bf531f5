/** Numbers as people say them. */

/** Four digits that count, without trailing zeros; never in powers of ten. */
export function spoken(value: number): string {
  if (!Number.isFinite(value)) return 'no number';
  const size = Math.abs(value);
  const whole = size < 1 ? 0 : Math.floor(Math.log10(size));
  return trimmed(value, Math.max(0, 3 - whole));
}

const trimmed = (value: number, decimals: number): string => {
  const text = value.toFixed(decimals);
  return decimals === 0 ? text : text.replace(/\.?0+$/, '');
};

/** A number and what it is held against, with as many decimals as it takes to see which is greater. */
export function against(value: number, other: number): [string, string] {
  for (let decimals = 1; decimals <= 6; decimals++) {
    const is = trimmed(value, decimals);
    const wanted = trimmed(other, decimals);
    if (is !== wanted) return [is, wanted];
  }
  return [String(value), String(other)];
}
