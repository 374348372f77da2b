// A report in each form that labs and growers use: loaded in the browser, asked about, read.
import { after, before, test } from 'node:test';
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { ROOT, demoFarm, file, openBrowser, openPage, overflow, picture, send } from '../lib.mjs';

const MADE = join(ROOT, 'tests/layouts/made');
let browser;
before(async () => (browser = await openBrowser()));
after(() => browser.close());

const answersOf = (name) => JSON.parse(readFileSync(join(MADE, `${name}.answers.json`), 'utf8'));

/** Answers what is asked as the grower of the file would: from the paper beside it. */
async function answer(page, known) {
  for (const box of await page.locator('form[action$="/read"] div.first').all()) {
    const select = box.locator('select');
    const options = (await select.count()) ? await select.locator('option').evaluateAll((all) => all.map((o) => o.value)) : [];
    const key = known.answers.map((a) => a.key).find((k) => options.includes(k));
    if (key) await select.selectOption(key);
    else if (options.includes('not_stated')) await select.selectOption('not_stated');
    else {
      const number = box.locator('input.short');
      const depth = known.answers.find((a) => a.topic === 'depth');
      if ((await number.count()) && depth) await number.fill(depth.key);
    }
  }
}

for (const [form, name] of [
  ['comma', 'csv-01-comma.csv'],
  ['a row a value', 'csv-14-long.csv'],
  ['XLSX', 'xlsx-04-text.xlsx'],
  ['ODS', 'ods-01-merged.ods'],
  ['PDF, a table', 'pdf-01-typst-table.pdf'],
  ['PDF, a page a sample', 'pdf-02-typst-form.pdf'],
  ['a picture', 'scan-03-page.png'],
  ['exchange XML', 'exchange-01.xml'],
  ['exchange JSON', 'exchange-03.json'],
]) {
  test(`${form}: ${name} is read`, async (t) => {
    const { at } = await demoFarm(t, { planned: false });
    const page = await openPage(t, browser, at);
    page.setDefaultTimeout(60_000);
    const known = answersOf(name);
    await page.goto('/lab');
    await page.getByLabel('The lab’s file').setInputFiles(join(MADE, name));
    await page.getByRole('button', { name: 'Load it' }).click();
    await answer(page, known);
    await picture(page, `${name}-asked`);
    await page.getByRole('button', { name: 'Read the file' }).click();
    const text = await page.locator('main').innerText();
    assert.match(text, new RegExp(`${known.samples.length} samples were read`), text.slice(0, 1500));
    for (const sample of known.samples) assert.ok(text.includes(sample.name), sample.name);
    assert.equal(await overflow(page), null);
    await picture(page, `${name}-read`);
    if (name.startsWith('scan')) {
      // Every value stands beside its cut-out, and is used as read until it is compared.
      const cuts = page.locator('img[src*="/cut?"]');
      const values = known.samples.reduce((n, s) => n + Object.keys(s.values).length, 0);
      assert.equal(await cuts.count(), values);
      const src = await cuts.first().getAttribute('src');
      const picture = await send(at, 'GET', src);
      assert.equal(picture.headers['content-type'], 'image/png');
      await page.getByLabel('I compared all of these').check();
      await page.getByRole('button', { name: 'Keep what I decided' }).click();
      assert.equal(await page.locator('img[src*="/cut?"]').count(), 0);
    }
    assert.deepEqual(page.complaints, []);
  });
}

test('text from a mail is read', async (t) => {
  const { at } = await demoFarm(t, { planned: false });
  const page = await openPage(t, browser, at);
  const known = answersOf('mail-02-lines.txt');
  await page.goto('/lab');
  await page.getByText('Or paste numbers').click();
  await page.getByLabel('The text, with its header').fill(readFileSync(join(MADE, 'mail-02-lines.txt'), 'utf8'));
  await page.getByRole('button', { name: 'Load the text' }).click();
  await answer(page, known);
  await picture(page, 'mail-asked');
  await page.getByRole('button', { name: 'Read the file' }).click();
  assert.match(await page.locator('p.lede').innerText(), new RegExp(`${known.samples.length} samples were read`));
  await picture(page, 'mail-read');
  // What was read goes out again in four forms.
  for (const form of ['csv', 'xlsx', 'xml', 'json']) {
    const path = new URL(page.url()).pathname;
    const answerOf = await send(at, 'GET', `${path}/results/${form}`);
    assert.equal(answerOf.status, 200, form);
    assert.match(answerOf.headers['content-disposition'], new RegExp(`results-\\d+\\.${form}`));
  }
});

test('a workbook with two tables is read by the one that is chosen', async (t) => {
  const { at } = await demoFarm(t, { planned: false });
  const page = await openPage(t, browser, at);
  await page.goto('/lab');
  await page.getByLabel('The lab’s file').setInputFiles(file('two_tables.xlsx'));
  await page.getByRole('button', { name: 'Load it' }).click();
  assert.match(await page.locator('main').innerText(), /The file holds 2 tables/);
  await picture(page, 'two-tables-asked');
  await page.getByRole('link', { name: /sheet Spring/ }).click();
  assert.match(await page.locator('main').innerText(), /sheet Spring.*– the one shown below/);
  await picture(page, 'two-tables-chosen');
  await page.getByRole('button', { name: 'Read the file' }).click();
  assert.match(await page.locator('p.lede').innerText(), /3 samples were read/);
  assert.equal(await overflow(page), null);
  await page.getByRole('link', { name: /another of its 2 tables|Say anew/ }).click();
  assert.match(await page.locator('main').innerText(), /sheet Spring.*– the one shown below/);
  assert.deepEqual(page.complaints, []);
});
