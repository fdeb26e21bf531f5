/** Least squares by the normal equations and elimination with pivots: slow and obvious. */

/** Coefficients of the columns of `rows` that fit `values` best. */
export function leastSquares(rows: readonly (readonly number[])[], values: readonly number[]): number[] {
  const size = rows[0]?.length ?? 0;
  const matrix = Array.from({ length: size }, (_, i) =>
    Array.from({ length: size }, (_, j) => rows.reduce((sum, row) => sum + (row[i] as number) * (row[j] as number), 0)),
  );
  const right = Array.from({ length: size }, (_, i) =>
    rows.reduce((sum, row, k) => sum + (row[i] as number) * (values[k] as number), 0),
  );
  return solve(matrix, right);
}

/** x of A x = b. */
export function solve(matrix: readonly (readonly number[])[], right: readonly number[]): number[] {
  const size = right.length;
  const rows = matrix.map((row, i) => [...row, right[i] as number]);
  for (let i = 0; i < size; i++) {
    let best = i;
    for (let k = i + 1; k < size; k++) if (Math.abs(rows[k]?.[i] ?? 0) > Math.abs(rows[best]?.[i] ?? 0)) best = k;
    [rows[i], rows[best]] = [rows[best] as number[], rows[i] as number[]];
    const pivot = rows[i] as number[];
    for (let k = 0; k < size; k++) {
      if (k === i) continue;
      const row = rows[k] as number[];
      const factor = (row[i] as number) / (pivot[i] as number);
      for (let j = i; j <= size; j++) row[j] = (row[j] as number) - factor * (pivot[j] as number);
    }
  }
  return rows.map((row, i) => (row[size] as number) / (row[i] as number));
}
