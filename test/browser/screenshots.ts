/**
 * `npm run screenshots`: flies the first rehearsal and takes a picture of every page of the test conductor's window, at
 * two sizes, into display/pictures/ or the folder given.
 */
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { chromium } from 'playwright-core';
import { chromiumPath } from '../support/chromium.ts';
import { Running } from '../support/groundchase.ts';
import { temporaryFolder } from '../support/temporary-folder.ts';

const out = process.argv[2] ?? fileURLToPath(new URL('../../display/pictures', import.meta.url));
/** Seconds of flight before the pictures: the charts hold something by then. */
const FLOWN = Number(process.argv[3] ?? 75);
const sizes = [
  { width: 1280, height: 720 },
  { width: 1920, height: 1080 },
];

mkdirSync(out, { recursive: true });
const station = new Running(['rehearse', 'first-flight', '--port', '0', '--recordings', temporaryFolder()]);
try {
  const link = (await station.line(/, test conductor$/)).split(' ')[0] as string;
  const browser = await chromium.launch({ executablePath: chromiumPath(), args: ['--no-sandbox'] });
  try {
    const page = await browser.newPage();
    await page.setViewportSize(sizes[1] as (typeof sizes)[number]);
    await page.goto(link);
    await page.waitForTimeout(FLOWN * 1000);
    const tabs = page.locator('nav button');
    for (let tab = 0; tab < (await tabs.count()); tab++) {
      await tabs.nth(tab).click();
      const name = (await tabs.nth(tab).innerText()).toLowerCase().replace(/\W+/g, '-');
      for (const size of sizes) {
        await page.setViewportSize(size);
        // the charts are laid out anew and drawn once more
        await page.waitForTimeout(1500);
        const path = join(out, `${name}-${size.width}x${size.height}.png`);
        await page.screenshot({ path });
        console.log(path);
      }
    }
  } finally {
    await browser.close();
  }
} finally {
  await station.stop();
}
