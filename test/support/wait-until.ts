/** Waiting on conditions, never on time alone. */

/** Asks again and again until the answer is neither false nor undefined, and gives it; fails after `within` ms. */
export async function waitUntil<T>(
  what: string,
  ask: () => T | undefined | false | Promise<T | undefined | false>,
  within = 10_000,
): Promise<T> {
  const end = performance.now() + within;
  for (;;) {
    const answer = await ask();
    if (answer !== undefined && answer !== false) return answer;
    if (performance.now() > end) throw new Error(`waited ${within} ms in vain until ${what}`);
    await new Promise((resolve) => setTimeout(resolve, 10));
  }
}
