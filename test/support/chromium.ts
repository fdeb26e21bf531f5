/** Where the browser is that the set-up of `npm test` found. */
import { existsSync, readFileSync } from 'node:fs';

export function chromiumPath(): string {
  const kept = new URL('../../node_modules/.groundchase/chromium', import.meta.url);
  const path = process.env['CHROMIUM'] ?? (existsSync(kept) ? readFileSync(kept, 'utf8') : '/usr/bin/chromium');
  if (existsSync(path)) return path;
  throw new Error(`no Chromium at ${path}: run npm test once, or set CHROMIUM to its path`);
}
