/** The same data as JSON keeps it: null for every number that is none, and one zero. Changes it in place. */
export function plainData<T>(data: T): T {
  if (typeof data === 'number') return (Number.isFinite(data) ? data + 0 : null) as T;
  if (typeof data !== 'object' || data === null) return data;
  for (const [key, value] of Object.entries(data)) {
    const isPlain =
      typeof value === 'number' ? Number.isFinite(value) && !Object.is(value, -0) : typeof value !== 'object';
    if (!isPlain && value !== null) (data as Record<string, unknown>)[key] = plainData(value);
  }
  return data;
}
