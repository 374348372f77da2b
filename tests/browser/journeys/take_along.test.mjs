// What happened on a block, drawn over its charts; the book as a zip and another one beside it: on a screen
// and on a phone.
import { after, before, test } from 'node:test';
import assert from 'node:assert/strict';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { demoFarm, faults, folder, openBrowser, openPage, overflow, pdf, picture, send, spadework, unfold } from '../lib.mjs';

let browser;
before(async () => (browser = await openBrowser()));
after(() => browser.close());

const SIZES = [{ width: 1280, height: 900 }, { width: 360, height: 740 }];

test('what happened stands over the charts, on the page and on paper', async (t) => {
  const { book, at } = await demoFarm(t, { planned: false });
  const log = (material, day, amount) =>
    spadework('log', book, '--block', 'Barn Field', '--material', material, '--amount', amount, '--day', day, '--by', 'Ada');
  log('lime_calcitic', '2025-04-02', '600 lb');
  log('feather_meal', '2026-05-02', '24 lb');
  spadework('harvest', book, 'Barn Field', '40', '--unit', 'box', '--each', '25 lb', '--day', '2026-07-20');
  for (const viewport of SIZES) {
    const page = await openPage(t, browser, at, { viewport });
    await page.goto('/years/1');
    const strip = page.getByRole('img', { name: /^What happened on Barn Field from 2025 to/ });
    await strip.waitFor();
    for (const lane of ['Lime', 'Spread', 'Harvest', 'Test']) assert.equal(await strip.getByText(lane, { exact: true }).count(), 1, lane);
    // A year of the charts stands under the same year of what happened.
    const years = (of) => of.locator('text').evaluateAll((all) => all.filter((e) => /^20\d\d$/.test(e.textContent)).map((e) => [e.textContent, Math.round(e.getBoundingClientRect().x)]));
    const chart = page.getByRole('img', { name: /^pH through the years/ });
    assert.deepEqual(await years(chart), await years(strip));
    await page.getByRole('link', { name: 'Each with its amount' }).click();
    assert.match(await page.locator('main').innerText(), /600 lb of/);
    await unfold(page);
    assert.deepEqual(await faults(page), []);
    assert.equal(await overflow(page), null);
    await picture(page, `years-strip-${viewport.width}`);
    assert.deepEqual(page.complaints, []);
  }
  const printed = pdf((await send(at, 'GET', '/years/1/sheet.pdf')).bytes);
  assert.match(printed.text, /Harvest/);
});

test('the book goes along as a zip and lies beside another', async (t) => {
  const { book, at } = await demoFarm(t, { planned: false });
  const to = join(folder(t), 'farm.zip');
  for (const viewport of SIZES) {
    const page = await openPage(t, browser, at, { viewport, acceptDownloads: true });
    await page.goto('/changes');
    await page.getByRole('link', { name: 'Take the book along' }).click();
    const [download] = await Promise.all([page.waitForEvent('download'), page.getByRole('link', { name: 'The whole book as a zip' }).click()]);
    assert.equal(download.suggestedFilename(), 'farm.zip');
    await download.saveAs(to);
    assert.equal(readFileSync(to).subarray(0, 2).toString(), 'PK');
    await page.getByLabel('A book, or the zip of one').setInputFiles(to);
    await page.getByRole('button', { name: 'Lay it beside this one' }).click();
    await page.getByText('The two books say the same.').waitFor();

    spadework('log', book, '--block', 'Creek Field', '--material', 'feather_meal', '--amount', `${viewport.width} lb`, '--day', '2026-05-02', '--by', 'Ada');
    await page.getByLabel('A book, or the zip of one').setInputFiles(to);
    await page.getByRole('button', { name: 'Lay it beside this one' }).click();
    await page.locator('summary', { hasText: 'Creek Field' }).click();
    await page.getByText('1 only in this book.').waitFor();
    await unfold(page);
    assert.deepEqual(await faults(page), []);
    assert.equal(await overflow(page), null);
    await picture(page, `book-beside-${viewport.width}`);

    const torn = join(folder(t), 'torn.zip');
    writeFileSync(torn, readFileSync(to).subarray(0, 2000));
    await page.getByLabel('A book, or the zip of one').setInputFiles(torn);
    await page.getByRole('button', { name: 'Lay it beside this one' }).click();
    await page.getByText('The zip cannot be read').waitFor();
    assert.deepEqual(page.complaints, []);
  }
  // What was taken along makes a book again.
  assert.match(spadework('differences', book, to, '--count'), /Creek Field/);
});
