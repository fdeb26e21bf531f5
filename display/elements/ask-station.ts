/** Asks the station over HTTP. What goes wrong comes back in words. */
const LONGEST = 60_000;

export type Asked<T> = { answer: T } | { trouble: string };

/** `body`: sent as JSON by POST; left out = GET. `signal` ends the asking; what then comes back is for nobody. */
export async function askStation<T>(path: string, body?: unknown, signal?: AbortSignal): Promise<Asked<T>> {
  const limit = AbortSignal.timeout(LONGEST);
  const init: RequestInit = { signal: signal ? AbortSignal.any([signal, limit]) : limit };
  if (body !== undefined) {
    init.method = 'POST';
    init.headers = { 'Content-Type': 'application/json' };
    init.body = JSON.stringify(body);
  }
  try {
    const response = await fetch(path, init);
    if (response.ok) return { answer: (await response.json()) as T };
    return { trouble: await wordsOf(response) };
  } catch (error) {
    const isLate = error instanceof DOMException && error.name === 'TimeoutError';
    return { trouble: isLate ? 'the station did not answer in a minute' : 'the station cannot be reached' };
  }
}

async function wordsOf(response: Response): Promise<string> {
  const text = await response.text().catch(() => '');
  try {
    const { error } = JSON.parse(text) as { error?: string };
    if (typeof error === 'string' && error !== '') return error;
  } catch {
    // no JSON: its words are the answer
  }
  return text.trim().slice(0, 300) || `the station answered ${response.status}`;
}
