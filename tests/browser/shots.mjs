// Pictures of every page of the demo, with its plan made: node shots.mjs OUTDIR
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { demoFarm, file, kinds, openBrowser, openPage } from './lib.mjs';

const out = process.argv[2];
if (!out) {
  console.error('Say where the pictures go: node shots.mjs OUTDIR');
  process.exit(2);
}
mkdirSync(out, { recursive: true });

const last = [];
const t = { after: (work) => last.unshift(work) };
try {
  const { at } = await demoFarm(t);
  const browser = await openBrowser();
  t.after(() => browser.close());
  let count = 0;
  let waiting;
  for (const width of [1280, 360]) {
    const page = await openPage(t, browser, at, { viewport: { width, height: 800 } });
    if (!waiting) {
      await page.goto('/lab');
      await page.getByLabel('The lab’s file').setInputFiles(file('county_lab_2026.csv'));
      await page.getByRole('button', { name: 'Load it' }).click();
      waiting = new URL(page.url()).pathname;
    }
    for (const [name, path] of kinds(waiting)) {
      await page.goto(path);
      await page.evaluate(() => document.fonts.ready);
      await page.screenshot({ path: join(out, `${name}-${width}.png`), fullPage: true });
      count++;
    }
  }
  console.log(`${count} pictures in ${out}`);
} finally {
  for (const work of last) await work();
}
