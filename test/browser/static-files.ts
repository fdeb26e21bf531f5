/** Serves the built display under a content policy at least as strict as the station's. */
import { createReadStream, existsSync } from 'node:fs';
import type { ServerResponse } from 'node:http';
import { extname, join, normalize } from 'node:path';

const types: Record<string, string> = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript',
  '.css': 'text/css',
  '.woff2': 'font/woff2',
  '.woff': 'font/woff',
};

export function sendFile(dist: string, path: string, response: ServerResponse): void {
  const name = normalize(path === '/' ? '/index.html' : path);
  const file = join(dist, name);
  if (name.includes('..') || !existsSync(file)) {
    response.statusCode = 404;
    response.end();
    return;
  }
  response.setHeader('Content-Type', types[extname(file)] ?? 'application/octet-stream');
  createReadStream(file).pipe(response);
}
