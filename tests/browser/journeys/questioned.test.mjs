// Values that look wrong are asked about; what the grower decides is kept and done.
import { after, before, test } from 'node:test';
import assert from 'node:assert/strict';
import { file, freshFarm, openBrowser, openPage } from '../lib.mjs';

let browser;
before(async () => (browser = await openBrowser()));
after(() => browser.close());

const farm = async (t) => {
  const { at } = await freshFarm(t, { ground: file('ground.csv') });
  return openPage(t, browser, at);
};

/** Pastes a report, reads it and gives the address of its page. */
async function paste(page, name, text) {
  await page.goto('/lab');
  await page.getByText('Or paste numbers').click();
  await page.getByLabel('The text, with its header').fill(text);
  await page.getByLabel('A name to know it by').fill(name);
  await page.getByRole('button', { name: 'Load the text' }).click();
  await page.getByRole('button', { name: 'Read the file' }).click();
  assert.match(await page.locator('p.lede').innerText(), /samples were read/, await page.locator('main').innerText());
  return page.url().replace(/\?.*/, '');
}

const HEAD = 'Extraction: Mehlich-3\nSample,pH,OM (%),P (ppm),K (ppm),Ca (ppm),Mg (ppm),CEC (meq/100 g)\n';

test('a value that cannot be right is asked about, mended, and asked again when wished', async (t) => {
  const page = await farm(t);
  // 1,100 ppm of calcium and 140 of magnesium are about 7 meq: organic matter of 0.031 is a share.
  const report = await paste(page, 'mail', `${HEAD}Long Field,6.4,0.031,40,120,1100,140,8.0\n`);
  const asked = page.locator('fieldset.first', { hasText: 'Organic matter' });
  assert.match(await asked.innerText(), /0\.031/);
  await asked.getByLabel(/3\.1/).check();
  await page.getByRole('button', { name: 'Keep what I decided' }).click();
  assert.match(await page.locator('main').innerText(), /What you decided is kept/);
  assert.equal(await page.locator('fieldset.first', { hasText: 'Organic matter' }).count(), 0);
  await page.getByText(/\d+ values/).first().click();
  assert.match(await page.locator('main').innerText(), /Organic matter 3\.1 %/);
  await page.getByRole('button', { name: 'Ask again' }).click();
  assert.equal(await page.locator('fieldset.first', { hasText: 'Organic matter' }).count(), 1);
  // Reading the columns anew asks the same and forgets nothing else.
  await page.goto(report);
  assert.equal(await page.locator('fieldset.first', { hasText: 'Organic matter' }).count(), 1);
  assert.deepEqual(page.complaints, []);
});

test('a value of one’s own must be possible', async (t) => {
  const page = await farm(t);
  await paste(page, 'mail', `${HEAD}Long Field,6.4,0.031,40,120,1100,140,8.0\n`);
  const asked = page.locator('fieldset.first', { hasText: 'Organic matter' });
  await asked.getByLabel('It should be').check();
  await asked.getByLabel(/The right value/).fill('310');
  await page.getByRole('button', { name: 'Keep what I decided' }).click();
  assert.match(await page.getByRole('alert').innerText(), /cannot be 310 %/);
  await page.locator('fieldset.first', { hasText: 'Organic matter' }).getByLabel('It should be').check();
  await page.getByRole('button', { name: 'Keep what I decided' }).click();
  assert.match(await page.getByRole('alert').innerText(), /Give the right value/);
});

test('pounds taken for ppm show against the year before', async (t) => {
  const page = await farm(t);
  await paste(page, '2025', `${HEAD}Long Field,6.4,3.1,40,120,1100,140,8.0\n`);
  await paste(page, '2026', `${HEAD}Long Field,6.3,3.2,82,236,2240,276,8.1\n`);
  const text = await page.locator('main').innerText();
  assert.match(text, /lb\/acre/);
  assert.match(text, /values? to look at/);
});

test('a report typed by hand is read like a file', async (t) => {
  const page = await farm(t);
  await page.goto('/lab');
  await page.getByRole('link', { name: /type the values/ }).click();
  await page.getByLabel('The lab’s name').fill('Tarn End');
  await page.getByLabel('Extractant of P').selectOption('mehlich3');
  await page.getByLabel('Buffer', { exact: true }).selectOption('sikora');
  const cell = (what, row) => page.getByLabel(`${what}, row ${row}`, { exact: true });
  await cell('pH', 1).fill('6.1');
  await cell('Buffer pH', 1).fill('6.8');
  await cell('Phosphorus', 1).fill('x41');
  await page.getByRole('button', { name: 'Keep these values' }).click();
  assert.match(await page.getByRole('alert').innerText(), /x41/);
  assert.equal(await cell('pH', 1).inputValue(), '6.1', 'what was typed is still there');
  await page.goto('/lab');
  assert.equal(await page.locator('tbody tr').count(), 0, 'nothing was kept');
  await page.goto('/lab/type');
  await page.getByLabel('The lab’s name').fill('Tarn End');
  await page.getByLabel('Extractant of P').selectOption('mehlich3');
  await page.getByLabel('Buffer', { exact: true }).selectOption('sikora');
  await cell('pH', 1).fill('6.1');
  await cell('Buffer pH', 1).fill('6.8');
  await cell('Phosphorus', 1).fill('41');
  await page.getByRole('button', { name: 'Keep these values' }).click();
  assert.match(await page.locator('p.lede').innerText(), /1 samples? (was|were) read/);
  await page.goto('/reading');
  assert.match(await page.locator('main').innerText(), /41/);
  assert.deepEqual(page.complaints, []);
});
