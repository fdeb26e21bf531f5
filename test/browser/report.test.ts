/** The report as a page: served with its own policy, shown and printed by a real browser. */
import { createServer, type Server } from 'node:http';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import type { FlightReport } from '../../protocol/report.ts';
import { reportPage } from '../../replay/report/html.ts';
import { emptyReport } from '../support/empty-report.ts';
import { fullReport } from '../support/flight-report.ts';
import { launch, openWindow } from './open-window.ts';

let browser: Browser;
let server: Server;
let shown: FlightReport;
let url: string;
beforeAll(async () => {
  browser = await launch();
  server = createServer((_request, response) => {
    const { html, policy } = reportPage(shown);
    response
      .writeHead(200, { 'Content-Type': 'text/html; charset=utf-8', 'Content-Security-Policy': policy })
      .end(html);
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  url = `http://127.0.0.1:${(server.address() as { port: number }).port}/`;
}, 60_000);
afterAll(async () => {
  await browser?.close();
  server?.close();
});

const long = 'a-very-long-name-without-any-place-to-break-it-'.repeat(6);

it.each<[string, () => FlightReport]>([
  ['a full flight', () => fullReport()],
  ['a flight of which nothing was seen', () => emptyReport()],
  [
    'names without an end',
    () => fullReport({ flight: { number: long, crew: long, note: long, closed: true }, file: `${long}.flight` }),
  ],
])('%s fits narrow and wide windows, in its own style and face', { timeout: 60_000 }, async (_, report) => {
  shown = report();
  for (const width of [480, 1280]) {
    const { page, errors } = await openWindow(browser, url, { width, height: 900 });
    await page.evaluate(() => document.fonts.ready);
    const seen = await page.evaluate(() => ({
      wider: document.documentElement.scrollWidth - document.documentElement.clientWidth,
      face: document.fonts.check('16px B612') && getComputedStyle(document.body).fontFamily.includes('B612'),
      // what stands out of its cell
      cut: [...document.querySelectorAll('td,th,dd')].filter((cell) => cell.scrollWidth > cell.clientWidth + 1).length,
      grid: getComputedStyle(document.querySelector('dl div') as Element).display,
    }));
    // the icon of the page is asked for by the browser itself, and is the one thing the policy turns away
    expect(errors.filter((error) => !/favicon/.test(error))).toEqual([]);
    expect(seen).toEqual({ wider: 0, face: true, cut: 0, grid: 'flex' });
    await page.close();
  }
});

it('prints on A4, without what is of use on a screen alone', { timeout: 60_000 }, async () => {
  shown = fullReport();
  const { page } = await openWindow(browser, url);
  const paper = (await page.pdf({ preferCSSPageSize: true, printBackground: true })).toString('latin1');
  const sheets = [...paper.matchAll(/\/MediaBox\s*\[0 0 ([\d.]+) ([\d.]+)\]/g)];
  expect(sheets.length).toBeGreaterThan(3);
  // 210 by 297 mm are 595.3 by 841.9 points; browsers round to whole pixels
  for (const [, width, height] of sheets) {
    expect(Math.abs(Number(width) - 595.3)).toBeLessThan(1);
    expect(Math.abs(Number(height) - 841.9)).toBeLessThan(1);
  }
  expect((paper.match(/\/Type\s*\/Page\b/g) ?? []).length).toBeGreaterThan(3);
  await page.emulateMedia({ media: 'print' });
  expect(await page.evaluate(() => getComputedStyle(document.querySelector('nav') as Element).display)).toBe('none');
  await page.close();
});
