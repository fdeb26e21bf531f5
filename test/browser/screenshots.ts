/**
 * `npm run screenshots`: flies the first rehearsal until an alarm comes, and takes a picture of every page of the test
 * conductor's window at two sizes, into screenshots/ or the folder given. The first page is also the picture in README.md.
 */
import { copyFileSync, mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { chromium, type Page } from 'playwright-core';
import { chromiumPath } from '../support/chromium.ts';
import { Running } from '../support/groundchase.ts';
import { temporaryFolder } from '../support/temporary-folder.ts';

const root = fileURLToPath(new URL('../../', import.meta.url));
const out = process.argv[2] ?? join(root, 'screenshots');
const inReadme = join(root, 'display/pictures/conductor.png');
const sizes = [
  { width: 1920, height: 1080 },
  { width: 1366, height: 768 },
] as const;
/** The rehearsal lasts six minutes, milliseconds. */
const FLIGHT = 360_000;
/** Charts are laid out anew, and what is held has been on the screen for a moment. */
const SETTLED = 1500;

/** One picture at each size; gives the path of the first. */
async function take(page: Page, title: string): Promise<string> {
  const paths: string[] = [];
  for (const size of sizes) {
    await page.setViewportSize(size);
    await page.waitForTimeout(SETTLED);
    const path = join(out, `${title.toLowerCase().replace(/\W+/g, '-')}-${size.width}x${size.height}.png`);
    await page.screenshot({ path });
    console.log(path);
    paths.push(path);
  }
  return paths[0] as string;
}

async function takeAll(page: Page): Promise<void> {
  const tabs = page.locator('nav button');
  for (let tab = 0; tab < (await tabs.count()); tab++) {
    await tabs.nth(tab).click();
    const path = await take(page, (await tabs.nth(tab).innerText()).replace(/\s*\d+\s*$/, ''));
    if (tab === 0) copyFileSync(path, inReadme);
  }
  await takePoint(page);
  await takeEditor(page);
  await page.keyboard.press('Escape');
  await page.keyboard.press('F9');
  await take(page, 'stop call panel');
}

/** The first point of the cards, begun. */
async function takePoint(page: Page): Promise<void> {
  await page
    .locator('nav')
    .getByRole('button', { name: /^Cards/ })
    .click();
  await page.getByRole('button', { name: /^Begin / }).click();
  await page.locator('gc-point-run .gates').waitFor();
  await take(page, 'point being set up');
}

/** A limit being tightened, with what that would have done to the flight so far. */
async function takeEditor(page: Page): Promise<void> {
  await page.getByRole('button', { name: /^Limits/ }).click();
  await page.locator('gc-limits-page [data-limit="nr-low"]').click();
  await page.getByLabel('warning below').fill('96');
  await page.getByRole('button', { name: 'What would it have done?' }).click();
  await page.locator('gc-difference-list').or(page.getByText('No answer:')).waitFor({ timeout: 60_000 });
  await take(page, 'limit editor');
}

mkdirSync(out, { recursive: true });
mkdirSync(join(root, 'display/pictures'), { recursive: true });
const station = new Running(['rehearse', 'first-flight', '--port', '0', '--recordings', temporaryFolder()]);
try {
  const link = (await station.line(/, test conductor$/)).split(' ')[0] as string;
  const browser = await chromium.launch({ executablePath: chromiumPath(), args: ['--no-sandbox'] });
  try {
    const page = await browser.newPage({ viewport: sizes[0] });
    await page.goto(link);
    await page.getByText('No alarm held').waitFor({ timeout: 30_000 });
    await page.getByText('No alarm held').waitFor({ state: 'detached', timeout: FLIGHT });
    await page.waitForTimeout(SETTLED);
    await takeAll(page);
  } finally {
    await browser.close();
  }
} finally {
  await station.stop();
}
