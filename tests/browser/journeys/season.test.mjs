// A whole season from an empty book: ground, lab, reading, materials, plan, order, jobs; then the next lab file.
import { after, before, test } from 'node:test';
import assert from 'node:assert/strict';
import { faults, file, freshFarm, openBrowser, openPage, pdf, send, planFound } from '../lib.mjs';

let browser;
before(async () => (browser = await openBrowser()));
after(() => browser.close());

const main = (page) => page.locator('main');
const lede = (page) => page.locator('p.lede').innerText();

async function addBlock(page, fill) {
  await page.goto('/ground');
  await page.getByRole('link', { name: /^Add (a|the first) block$/ }).click();
  await fill();
  await page.getByRole('button', { name: 'Keep', exact: true }).click();
  await assert.doesNotReject(page.getByText('The block is kept.').waitFor());
}

async function threeBlocks(page) {
  const label = (text) => page.getByLabel(text, { exact: true });
  await addBlock(page, async () => {
    await label('Name').fill('Long Field');
    await page.getByLabel('One piece').check();
    await label('Length ft').fill('200');
    await label('Width ft').fill('100');
    await label('Texture').selectOption({ label: 'loam' });
    await label('Crop').selectOption('potato');
  });
  await addBlock(page, async () => {
    await label('Name').fill('East Beds');
    await label('Beds').check();
    await label('How many').fill('8');
    await label('Bed length ft').fill('100');
    await label('Bed width in').fill('30');
    await label('Path between in').fill('18');
    await label('Texture').selectOption('silt_loam');
    await label('Crop').selectOption('cabbage');
  });
  await addBlock(page, async () => {
    await label('Name').fill('Hoop House');
    await label('Kind').selectOption('tunnel');
    await page.getByLabel('Area known').check();
    await label('Area ft²').fill('1800');
    await label('Texture').selectOption('loam');
    await label('Crop').selectOption('tomato');
  });
}

async function load(page, name) {
  await page.goto('/lab');
  await page.getByLabel('The lab’s file').setInputFiles(file(name));
  await page.getByRole('button', { name: 'Load it' }).click();
}

for (const script of [true, false]) {
  test(`a season from an empty book, script ${script ? 'on' : 'off'}`, async (t) => {
    const { at } = await freshFarm(t);
    const page = await openPage(t, browser, at, { javaScriptEnabled: script });
    let plan = '';

    await t.test('the empty book says how to begin', async () => {
      await page.goto('/');
      assert.match(page.url(), /\/ground$/);
      assert.match(await lede(page), /Begin with one block/);
      for (const path of ['/lab', '/reading', '/materials', '/plan', '/order', '/jobs', '/changes', '/farm']) {
        const answer = await page.goto(path);
        assert.equal(answer.status(), 200, path);
        assert.deepEqual(await faults(page), [], path);
      }
      await page.goto('/plan');
      assert.match(await lede(page), /0 blocks and 0 materials/);
      await page.goto('/order');
      assert.match(page.url(), /\/plan$/, 'without a plan the order list leads to the plan');
    });

    await t.test('three blocks, one of each shape', async () => {
      await threeBlocks(page);
      const row = (name) => page.getByRole('row').filter({ hasText: name });
      // 200 × 100 ft; 8 beds of 100 ft × 30 in; as stated.
      assert.match(await row('Long Field').innerText(), /20,000 ft²[\s\S]*loam[\s\S]*Potato/i);
      assert.match(await row('East Beds').innerText(), /2,000 ft²[\s\S]*silt loam[\s\S]*Cabbage/i);
      assert.match(await row('Hoop House').innerText(), /1,800 ft²[\s\S]*Tomato/i);
      assert.match(await lede(page), /^3 blocks, 23,800 ft² \(0\.546 acre/);
    });

    await t.test('a lab file without the extractant’s name is asked about', async () => {
      await load(page, 'county_lab_2026.csv');
      assert.match(page.url(), /\/lab\/1$/);
      const asked = page.locator('.first').filter({ hasText: /extract/i });
      await asked.waitFor();
      await asked.getByLabel('Answer').selectOption('mehlich3');
      await page.getByLabel('The lab’s name').fill('County lab');
      await page.getByLabel('Day sampled').fill('2026-10-20');
      await page.getByRole('button', { name: 'Read the file' }).click();
      await page.getByText('Every row was read.').waitFor();
      assert.match(await lede(page), /3 samples were read\. One is not matched/);
    });

    await t.test('a doubtful sample name is asked about, then kept', async () => {
      const sample = (name) => page.locator('tbody tr').filter({ has: page.locator('td:first-child b', { hasText: name }) });
      const row = sample('Hoop Huose');
      assert.match(await row.innerText(), /asked/);
      assert.equal(await row.getByLabel('Block').locator('option:checked').innerText(), 'Hoop House', 'the likely block is proposed');
      assert.match(await sample('Long Field').innerText(), /matched/);
      await page.getByRole('button', { name: 'Keep the matches' }).click();
      assert.match(await page.getByRole('status').innerText(), /The samples are matched/);
      assert.match(await lede(page), /Each is matched to a block/);
    });

    await t.test('the reading shows a class with its source, and no class where there is no table', async () => {
      await page.goto('/reading');
      assert.match(await lede(page), /3 of 3 blocks have a soil test/);
      await page.getByRole('link', { name: 'Long Field' }).first().click();
      // The letter comes first, pH before everything; the numbers are one unfold away.
      assert.equal(await page.locator('.matter h2').first().innerText(), 'pH');
      assert.equal(await page.locator('.scale').first().isVisible(), false);
      await page.getByText('The numbers on the report').click();
      const value = (name) => page.locator('.scale').filter({ has: page.locator('.n', { hasText: name }) });
      const p = value('Phosphorus');
      // 31 ppm is 62 lb/acre; the New Jersey table for Mehlich-3 calls 46 to 71 lb/acre medium.
      assert.match(await p.locator('.say').innerText(), /Medium/);
      assert.match(await p.locator('.n').innerText(), /Mehlich-3/i);
      const how = p.locator('details');
      assert.equal(await how.locator('table').isVisible(), false);
      await how.locator('summary').click();
      assert.equal(await how.locator('table').isVisible(), true);
      assert.match(await how.innerText(), /Rutgers[\s\S]*read in/);
      const b = value('Boron');
      assert.match(await b.innerText(), /no .*table|table .*no/i);
      assert.match(await b.innerText(), /\b0\.9\b.*ppm/);
      assert.equal(await b.locator('svg').count(), 0, 'a value without a table is drawn on no scale');
      assert.doesNotMatch(await b.locator('.say').innerText(), /low|medium|optimum|high/i);
    });

    await t.test('the usual materials are ticked', async () => {
      await page.goto('/materials');
      await page.getByRole('button', { name: 'Tick the usual organic ones' }).click();
      assert.match(await page.getByRole('status').innerText(), /usual materials are ticked/);
      assert.match(await lede(page), /12 materials/);
    });

    await t.test('a plan is made, with balances whose working unfolds', async () => {
      await page.goto('/plan');
      assert.match(await lede(page), /3 blocks and 12 materials/);
      await page.getByRole('button', { name: 'Make the plan' }).click();
      await planFound(page);
      assert.match(await page.getByRole('status').innerText(), /The plan is made and kept/);
      plan = await lede(page);
      assert.match(plan, /Feeds 3 blocks with \d+ materials/);
      await page.getByRole('link', { name: 'Long Field' }).first().click();
      assert.match(await main(page).innerText(), /How it stands[\s\S]*Nitrogen[\s\S]*need \d/);
      assert.ok((await page.locator('.account svg[role=img]').count()) > 0);
      const working = page.locator('details').filter({ hasText: 'Where every number comes from' });
      assert.equal(await working.locator('table').first().isVisible(), false);
      await working.locator('summary').click();
      assert.equal(await working.locator('table').first().isVisible(), true);
      assert.match(await working.innerText(), /Nitrogen to add for potato[\s\S]*lb N\/acre[\s\S]*brought to the block/);
    });

    await t.test('the order list and its PDF name what is bought', async () => {
      await page.goto('/order');
      const names = await page.locator('tbody tr td:first-child b').allInnerTexts();
      assert.ok(names.length > 0);
      const sheet = pdf((await send(at, 'GET', '/order.pdf')).bytes);
      assert.ok(sheet.pages >= 1);
      for (const name of names) {
        const first = name.split(/[ ,(]/)[0];
        assert.ok(sheet.text.toLowerCase().includes(first.toLowerCase()), `${name} is missing in the PDF`);
      }
      assert.match(sheet.text, /Plover Bank/);
    });

    await t.test('each block has a job page and a sheet of its own', async () => {
      await page.goto('/jobs');
      await page.getByRole('link', { name: 'East Beds' }).click();
      assert.match(await main(page).innerText(), /8 beds of/);
      assert.match(await page.locator('p.sentence').first().innerText(), /Spread [\d.,/ ]+(lb|oz) .*on each bed/);
      const sheets = pdf((await send(at, 'GET', '/jobs.pdf')).bytes);
      assert.ok(sheets.pages >= 3, `${sheets.pages} pages for three blocks`);
      for (const name of ['Long Field', 'East Beds', 'Hoop House']) assert.ok(sheets.text.includes(name), name);
      const one = pdf((await send(at, 'GET', '/jobs.pdf?block=2')).bytes);
      assert.ok(one.text.includes('East Beds') && !one.text.includes('Hoop House'));
      const long = pdf((await send(at, 'GET', '/jobs.pdf?working=yes')).bytes);
      assert.ok(long.text.length > sheets.text.length * 1.3, 'with the working the sheets say more');
    });

    await t.test('the next file of the same shape is read without a question', async () => {
      await load(page, 'county_lab_2027.csv');
      assert.match(await lede(page), /shape of one you confirmed before/);
      assert.equal(await page.locator('.first').count(), 0, 'nothing is asked again');
      await page.getByRole('button', { name: 'Read the file' }).click();
      assert.match(await lede(page), /3 samples were read\. Each is matched/, 'the odd sample name is known now');
      await page.goto('/plan');
      assert.match(await main(page).innerText(), /Out of date/);
    });

    assert.deepEqual(page.complaints, []);
  });
}

test('the extractant is never passed over; “not stated” gives no class, and can be answered later', async (t) => {
  const { at } = await freshFarm(t, { ground: file('ground.csv') });
  const page = await openPage(t, browser, at);
  const read = () => page.getByRole('button', { name: 'Read the file' }).click();
  const value = (name) => page.locator('.scale').filter({ has: page.locator('.n', { hasText: name }) });
  const asked = page.locator('.first').filter({ hasText: 'extractant' });
  await load(page, 'county_lab_2026.csv');
  await read();
  assert.match(await page.getByRole('alert').innerText(), /Nothing was read/);
  assert.match(await asked.innerText(), /Which extractant gave phosphorus/, 'the question stands on the same page');
  await page.goto('/reading');
  assert.match(await lede(page), /No soil test is matched/);

  await page.goto('/lab/1');
  await asked.getByLabel('Answer').selectOption('not_stated');
  await read();
  await page.goto('/reading');
  await page.getByRole('link', { name: 'Long Field' }).first().click();
  await page.getByText('The numbers on the report').click();
  for (const name of ['Phosphorus', 'Potassium', 'Magnesium']) {
    assert.match(await value(name).innerText(), /extractant/, name);
    assert.equal(await value(name).locator('svg').count(), 0, name);
  }
  assert.doesNotMatch(await lede(page), /phosphorus|potassium/);

  // The lab said it after all.
  await page.goto('/lab/1');
  await page.getByRole('link', { name: 'Say anew what its columns are' }).click();
  await asked.getByLabel('Answer').selectOption('mehlich3');
  await read();
  await page.goto('/reading');
  await page.getByRole('link', { name: 'Long Field' }).first().click();
  await page.getByText('The numbers on the report').click();
  assert.match(await value('Phosphorus').locator('.say').innerText(), /Medium/);
});
