// What a block's own tests taught: seen on its page, used in the plan, refused, and the plan goes back.
import { after, before, test } from 'node:test';
import assert from 'node:assert/strict';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { ROOT, faults, folder, freshFarm, openBrowser, openPage, pdf, planFound, send, shot, spadework, unfold } from '../lib.mjs';

let browser;
before(async () => (browser = await openBrowser()));
after(() => browser.close());

/** The demo's report with the pH of Creek Field as another year found it. */
function report(to, year, ph) {
  const text = readFileSync(join(ROOT, 'demo/soil_report.csv'), 'utf8');
  const path = join(to, `${year}.csv`);
  writeFileSync(path, text.replace(/^(Creek Field,)[^,]*,[^,]*/m, `$126-${year},${ph}`));
  return path;
}

/** Lime each January, and a soil that moves about two thirds as far as the tables say. */
const FOUND = { 2022: 4.9, 2023: 5.2, 2024: 5.5, 2025: 5.8, 2026: 5.5 };

test('the plan goes by what the soil taught until that is refused', async (t) => {
  const { book, at } = await freshFarm(t, { ground: join(ROOT, 'demo/ground.csv') });
  const files = folder(t);
  for (const [year, ph] of Object.entries(FOUND)) {
    if (year !== '2022') {
      spadework('log', book, '--block', 'Creek Field', '--material', 'lime_calcitic', '--amount', '900 lb', '--day', `${year}-01-05`, '--season', year);
    }
    spadework('import', book, report(files, year, ph), '--sampled', `${year}-10-12`, '--match', 'Tunnel one=Tunnel 1');
  }
  const page = await openPage(t, browser, at);
  await page.goto('/materials');
  await page.getByRole('button', { name: /^Tick the usual/ }).click();

  /** Pounds of lime asked for an acre, as the table of needs on the page of the plan says. */
  const limeOf = async () => {
    await page.goto('/plan/2');
    const cell = page.getByRole('row').filter({ hasText: 'Lime, fully effective' }).getByRole('cell').nth(1);
    return Number((await cell.evaluate((c) => c.firstChild.textContent)).replace(/[^\d.]/g, ''));
  };
  const plan = async () => {
    await page.goto('/plan');
    await page.getByRole('button', { name: /^Make the plan/ }).click();
    await planFound(page);
  };

  await page.goto('/reading/2');
  const taught = page.locator('#taught-lime');
  assert.match(await taught.innerText(), /by its own tests this block’s soil takes about [\d,]+ \([\d,]+ to [\d,]+\).*is used/s);
  await shot(page, 'taught-reading');
  await unfold(page);
  assert.match(await taught.innerText(), /2023-01-05: .*lime/);
  assert.match(await taught.innerText(), /2022-10-12 to 2023-10-12: found/);
  assert.deepEqual(await faults(page), []);
  await page.setViewportSize({ width: 360, height: 740 });
  await page.reload();
  await page.locator('#taught-lime details').first().click();
  await shot(page, 'taught-reading-narrow');

  const used = await limeOf();
  await shot(page, 'taught-plan-narrow');
  await page.setViewportSize({ width: 1280, height: 900 });
  await plan();
  await page.goto('/plan/2');
  await shot(page, 'taught-plan');
  const sheet = pdf((await send(at, 'GET', '/jobs.pdf?block=2')).bytes);
  assert.match(sheet.text.replace(/\s+/g, ' '), /by its own tests this block’s soil takes/);

  await page.goto('/plan/2');
  await page.getByRole('button', { name: 'Refuse it: lime' }).click();
  assert.match(page.url(), /\/plan\/2#taught-lime$/);
  assert.match(await page.locator('#taught-lime').innerText(), /You refused that on \d{4}-\d\d-\d\d/);
  const published = await limeOf();
  assert.ok(published < used, `${published} is less than ${used}`);
  await page.goto('/plan');
  assert.match(await page.locator('main').innerText(), /Out of date.*Creek Field changed/s);
  await plan();

  await page.goto('/years/2');
  await page.setViewportSize({ width: 360, height: 740 });
  assert.deepEqual(await faults(page), []);
  await shot(page, 'taught-years-narrow');
  await page.getByRole('button', { name: 'Take the refusal back: lime' }).click();
  assert.match(page.url(), /\/years\/2#taught-lime$/);
  assert.equal(await limeOf(), used);
  await page.goto('/changes');
  await page.getByRole('button', { name: 'Undo the last change' }).click();
  assert.equal(await limeOf(), published, 'the refusal stands again');
  assert.deepEqual(page.complaints, []);
});
