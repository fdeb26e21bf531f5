/** The same data with null for every number that is none: what survives JSON as it is. Changes it in place. */
export function plainData<T>(data: T): T {
  if (typeof data === 'number') return (Number.isFinite(data) ? data : null) as T;
  if (typeof data !== 'object' || data === null) return data;
  for (const [key, value] of Object.entries(data)) {
    if (typeof value === 'number' ? !Number.isFinite(value) : typeof value === 'object' && value !== null)
      (data as Record<string, unknown>)[key] = plainData(value);
  }
  return data;
}
