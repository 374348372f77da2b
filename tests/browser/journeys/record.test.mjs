// From the order to what an inspector is shown, on the pages, at both widths.
import test from 'node:test';
import assert from 'node:assert/strict';
import { demoFarm, openBrowser, openPage, pdf, send, shot, spadework } from '../lib.mjs';

test('an order, a short delivery with its paper, jobs, a harvest and a count come to the inspector’s record', async (t) => {
  const browser = await openBrowser();
  t.after(() => browser.close());
  const { book, at } = await demoFarm(t);
  const page = await openPage(t, browser, at);
  const both = async (name) => {
    for (const width of [1280, 360]) {
      await page.setViewportSize({ width, height: 900 });
      await shot(page, `${name}-${width}`);
    }
  };

  await page.goto('/order');
  await page.getByText('Order by').first().waitFor();
  await both('record-order');
  await page.getByRole('button', { name: /I ordered this/ }).first().click();
  await page.getByText('The order is written down').waitFor();
  const placed = JSON.parse(spadework('--json', 'order', book)).placed[0];
  const line = placed.lines[0].line;
  const each = line.weight / line.count / 1600;

  // One pack less than was ordered comes, with its note.
  await page.goto('/stock');
  await page.getByLabel('Material').selectOption(line.material);
  await page.getByLabel('How much').fill(`${Math.max(line.count - 1, 1)} x ${each} lb`);
  await page.getByLabel('Lot', { exact: true }).fill('K-17');
  await page.getByLabel('Answers the order').selectOption({ index: 1 });
  await page.getByLabel('Paid').fill('128.40');
  await page.getByLabel('Note or bill').setInputFiles({ name: 'note.txt', mimeType: 'text/plain', buffer: Buffer.from('Delivery note 17') });
  await page.getByRole('button', { name: 'Write it down' }).click();
  await page.getByText('The delivery is written down').waitFor();
  await page.getByRole('link', { name: 'note.txt' }).waitFor();
  const paper = await send(at, 'GET', await page.getByRole('link', { name: 'note.txt' }).getAttribute('href'));
  assert.equal(paper.text, 'Delivery note 17');
  assert.match(paper.headers['content-disposition'], /^attachment/);

  // The job that takes it, and a harvest.
  await page.goto('/log');
  const jobs = await page.locator('a[href^="/log/new?job="]').evaluateAll((all) => all.map((a) => a.getAttribute('href')));
  const job = jobs.find((href) => href.includes(`-${line.material}-`));
  await page.goto(job);
  await page.getByLabel('Who', { exact: true }).fill('Ada');
  await page.getByLabel('Weather').fill('dry, still');
  assert.equal(await page.getByLabel('Lot').inputValue(), 'K-17');
  await page.getByRole('button', { name: 'Write it down' }).click();
  await page.waitForURL('**/log?done=kept');
  await page.getByLabel('How many').fill('40');
  await page.getByLabel('Of what').fill('box');
  await page.getByLabel('What one weighs').fill('25 lb');
  await page.getByRole('button', { name: 'Write the harvest down' }).click();
  await page.getByText('The harvest is written down.').waitFor();
  await page.getByText('1,000 lb').waitFor();
  await both('record-log');

  // Half a pound of the lot is gone when it is weighed.
  const lot = JSON.parse(spadework('--json', 'stock', book)).find((l) => l.lot === 'K-17');
  await page.goto('/stock');
  await page.getByLabel('What was weighed').selectOption(`${line.material}|K-17`);
  await page.getByLabel('What the scale showed').fill(`${lot.end / 1600 - 0.5} lb`);
  await page.getByRole('button', { name: 'Keep the count' }).click();
  await page.getByText('The count is written down.').waitFor();
  await both('record-stock');

  await page.goto('/record');
  await page.getByText('counts found 8 oz less than the record made it').waitFor();
  await both('record-inspector');
  const record = JSON.parse(spadework('--json', 'record', book));
  for (const b of record.balance) assert.equal(b.begin + b.came + b.counted, b.used + b.end, b.lot);
  const printed = pdf((await send(at, 'GET', '/record.pdf')).bytes);
  for (const word of ['K-17', 'Ada', 'note.txt', 'Purchase, use and stock']) assert.ok(printed.text.includes(word), word);
  const csv = await send(at, 'GET', '/record/spread.csv');
  assert.match(csv.text, /K-17/);
  assert.deepEqual(page.complaints, []);
});
