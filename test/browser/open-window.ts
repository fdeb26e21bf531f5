/** Builds the display once for a test file and opens windows of it in headless Chromium. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { type Browser, chromium, type Page } from 'playwright-core';
import { build } from 'vite';
import { chromiumPath } from '../support/chromium.ts';

export interface Built {
  dist: string;
  remove(): void;
}

/** The display as it would be shipped, in a folder of its own, so that test files do not build over each other. */
export async function buildDisplay(): Promise<Built> {
  const dist = mkdtempSync(join(tmpdir(), 'display-'));
  const configFile = fileURLToPath(new URL('../../vite.config.ts', import.meta.url));
  const root = fileURLToPath(new URL('../../display', import.meta.url));
  await build({ configFile, root, logLevel: 'error', build: { outDir: dist, emptyOutDir: true } });
  return { dist, remove: () => rmSync(dist, { recursive: true, force: true }) };
}

export const launch = (more: string[] = []): Promise<Browser> =>
  chromium.launch({
    executablePath: chromiumPath(),
    args: [
      '--no-sandbox',
      '--headless',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
      ...(more.length > 0 ? more : ['--disable-gpu']),
    ],
  });

/** A window on the station, with every console error kept. */
export async function openWindow(
  browser: Browser,
  url: string,
  size = { width: 1366, height: 768 },
): Promise<{ page: Page; errors: string[] }> {
  const page = await browser.newPage({ viewport: size });
  const errors: string[] = [];
  page.on('pageerror', (error) => errors.push(String(error)));
  page.on('console', (message) => {
    if (message.type() === 'error') errors.push(message.text());
  });
  await page.goto(url);
  return { page, errors };
}
