/**
 * The short id that the day's printed sheets bear and every screen shows, so that anybody can see whether the paper in hand
 * is of the baseline in force: the first eight hexadecimal digits of the baseline id, capitals, in two groups of four.
 * Two baselines of one campaign share it by chance once in some four thousand million pairs.
 */
export const sheetId = (baselineId: string): string =>
  [baselineId.slice(0, 4), baselineId.slice(4, 8)]
    .filter((part) => part !== '')
    .join('-')
    .toUpperCase();
