// A delivery, a harvest and a count are put right on their pages; what was wrong stays beside, and the
// inspector is shown both. At both widths.
import test from 'node:test';
import assert from 'node:assert/strict';
import { demoFarm, openBrowser, openPage, pdf, send, shot, spadework } from '../lib.mjs';

test('a delivery, a harvest and a count are corrected, and the packet shows both', async (t) => {
  const browser = await openBrowser();
  t.after(() => browser.close());
  const { book, at } = await demoFarm(t, { planned: false });
  const day = ['--day', '2026-03-02'];
  spadework('receive', book, 'feather_meal', '12 x 50 lb', '--lot', 'FM 12', '--from', 'Hollow Mill', '--paid', '510', ...day);
  spadework('harvest', book, 'Barn Field', '40', '--unit', 'box', '--each', '25 lb', '--day', '2026-07-20');
  spadework('stock', book, '--count', 'feather_meal', '--lot', 'FM 12', '--amount', '118 lb', '--day', '2026-08-01');
  const page = await openPage(t, browser, at);
  const both = async (name) => {
    for (const width of [1280, 360]) {
      await page.setViewportSize({ width, height: 900 });
      await shot(page, `${name}-${width}`);
    }
  };

  await page.goto('/stock');
  await page.getByRole('link', { name: 'Correct delivery 1' }).click();
  assert.equal(await page.getByLabel('How much').inputValue(), '12 x 50 lb');
  await page.getByLabel('How much').fill('11 x 50 lb');
  await page.getByLabel('Lot', { exact: true }).fill('FM 13');
  await page.getByRole('button', { name: 'Keep the correction' }).click();
  await page.getByRole('alert').getByText('Say why it is corrected').waitFor();
  assert.equal(await page.getByLabel('Lot', { exact: true }).inputValue(), 'FM 13');
  await page.getByLabel('Why it is corrected').fill('one bag was torn; the lot was misread');
  await both('corrections-delivery');
  await page.getByRole('button', { name: 'Keep the correction' }).click();
  await page.getByText('The correction stands beside what it corrects').waitFor();

  await page.getByRole('link', { name: 'Correct count 1' }).click();
  await page.getByLabel('What the scale showed').fill('181 lb');
  await page.getByLabel('Lot', { exact: true }).fill('FM 13');
  await page.getByLabel('Why it is corrected').fill('misread the scale');
  await both('corrections-count');
  await page.getByRole('button', { name: 'Keep the correction' }).click();
  await page.getByText('The correction stands beside what it corrects').waitFor();
  await both('corrections-stock');

  // A count of the wrong heap is taken back; the shed is as it was.
  spadework('stock', book, '--count', 'feather_meal', '--lot', 'FM 13', '--amount', '9 lb', '--day', '2026-08-02');
  await page.goto('/stock');
  await page.getByRole('link', { name: 'Correct count 3' }).click();
  await page.getByLabel('Why it is corrected').fill('it was the neighbour’s heap');
  await both('corrections-count-back');
  await page.getByRole('button', { name: 'take the count back' }).click();
  await page.getByText('The correction stands beside what it corrects').waitFor();
  await page.getByText('it was the neighbour’s heap').waitFor();
  await both('corrections-stock-back');

  await page.goto('/log');
  await page.getByRole('link', { name: 'Correct harvest 1' }).click();
  await page.getByLabel('How many').fill('4');
  await page.getByLabel('Why it is corrected').fill('a slip of the pen');
  await both('corrections-harvest');
  await page.getByRole('button', { name: 'Keep the correction' }).click();
  await page.getByText('The correction stands beside the harvest').waitFor();
  await both('corrections-log');

  await page.goto('/record?from=2026-01-01&to=2026-12-31');
  for (const words of ['the lot was misread', 'misread the scale', 'a slip of the pen']) {
    await page.getByText(words).first().waitFor();
  }
  await both('corrections-record');
  const record = JSON.parse(spadework('--json', 'record', book, '--from', '2026-01-01', '--to', '2026-12-31'));
  for (const b of record.balance) assert.equal(b.begin + b.came + b.counted, b.used + b.end, b.lot);
  const printed = pdf((await send(at, 'GET', '/record.pdf?from=2026-01-01&to=2026-12-31')).bytes);
  for (const word of ['FM 12', 'FM 13', 'misread the scale', 'corrected by']) assert.ok(printed.text.includes(word), word);
  assert.equal(JSON.parse(spadework('--json', 'stock', book)).find((l) => l.lot === 'FM 13').end, 181 * 1600);
  assert.deepEqual(page.complaints, []);
});
