// From a trial walk to the setting on the pages and the printed sheet of a job, at both widths.
import test from 'node:test';
import assert from 'node:assert/strict';
import { demoFarm, faults, openBrowser, openPage, overflow, pdf, send, shot } from '../lib.mjs';

for (const width of [1280, 360]) {
  test(`a walk sets the spreader for its jobs, ${width} px wide`, async (t) => {
    const browser = await openBrowser();
    t.after(() => browser.close());
    const { at } = await demoFarm(t);
    // Without script, as the page promises.
    const page = await openPage(t, browser, at, { viewport: { width, height: 900 }, javaScriptEnabled: false });
    const sound = async (name) => {
      await shot(page, `${name}-${width}`);
      const bare = await openPage(t, browser, at, { viewport: { width, height: 900 } });
      await bare.goto(new URL(page.url()).pathname + new URL(page.url()).search);
      assert.deepEqual(await faults(bare), []);
      assert.equal(await overflow(bare), null);
      assert.deepEqual(bare.complaints, []);
    };

    await page.goto('/log');
    const job = await page.locator('a[href*="feather_meal"]').first().getAttribute('href');
    await page.goto(job);
    await page.getByText('No spreader was walked with it yet').waitFor();
    await page.getByRole('link', { name: 'walk it first' }).click();
    await page.getByText('Nothing was walked yet.').waitFor();
    await sound('spreaders-empty');

    const walk = async (setting, used) => {
      await page.goto('/spreaders');
      await page.getByLabel('What you call it').fill('Drop cart');
      await page.getByLabel('With', { exact: true }).selectOption('feather_meal');
      await page.getByLabel('Setting').fill(setting);
      await page.getByLabel('Width', { exact: true }).fill('30 in');
      await page.getByLabel('Length walked').fill('100 ft');
      await page.getByLabel('Caught or used up').fill(used);
      await page.getByRole('button', { name: 'Keep the walk' }).click();
      await page.getByText('The walk is kept').waitFor();
    };
    await walk('2', '0.1 oz');
    await page.getByText('laid down 0.025 lb on 1,000 ft²').waitFor();
    await sound('spreader-walk');
    await walk('20', '50 lb');

    await page.goto('/spreaders');
    await page.getByText('For the jobs of the plan').waitFor();
    await page.getByText('lies straight between two settings').waitFor();
    await sound('spreaders');
    await page.goto(job);
    await page.getByText('between the 2 and 20 that were walked').waitFor();
    await sound('spreader-job');

    const key = new URL(job, at).searchParams.get('job');
    for (const [language, says] of [['en', /setting about [\d.]+, between 2 and 20/], ['es', /ajuste de unos [\d.]+, entre 2 y 20/]]) {
      const sheet = await send(at, 'GET', `/job-sheets.pdf?job=${key}&language=${language}`);
      assert.equal(sheet.status, 200);
      const printed = pdf(sheet.bytes);
      assert.equal(printed.pages, 1);
      assert.match(printed.text.replace(/\s+/g, ' '), says);
    }
  });
}
