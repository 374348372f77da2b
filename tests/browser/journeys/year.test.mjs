// A whole invented year through the pages alone: ground and lab file, plan, order, deliveries that come short,
// every job with one left in part and one corrected, harvests, a count, and the inspector's packet. What was
// bought is what was used, counted away and is still there, to the hundredth of an ounce.
import test from 'node:test';
import assert from 'node:assert/strict';
import { join } from 'node:path';
import { folder, openBrowser, openPage, pdf, planFound, ROOT, send, shot, spadework, start, unfold } from '../lib.mjs';

const SEASON = 2025;
const demo = (name) => join(ROOT, 'demo', name);
const POUND = 1600; // hundredths of an ounce

/** The cells of a CSV whose texts hold no quotes within quotes. */
const table = (text) => {
  const rows = text.replace(/^\uFEFF/, '').trim().split(/\r?\n/).map((line) => [...line.matchAll(/("([^"]*)"|[^,]*)(,|$)/g)].slice(0, -1).map((m) => m[2] ?? m[1]));
  return rows.slice(1).map((row) => Object.fromEntries(rows[0].map((name, i) => [name, row[i]])));
};

test('a year from the plan to the inspector’s packet', async (t) => {
  const browser = await openBrowser();
  t.after(() => browser.close());
  const book = join(folder(t), 'farm.book');
  spadework('new', book, '--name', 'Plover Bank', '--organic', '--season', `${SEASON}`, '--region', 'New Jersey', '--ground', demo('ground.csv'));
  const { address } = await start(t, ['serve', book]);
  const at = address.replace(/\/$/, '');
  const page = await openPage(t, browser, at);
  const press = (name) => page.getByRole('button', { name }).click();

  // January: the lab's file, its one strange name told, and the materials that are usual here.
  await page.goto('/lab');
  await page.getByLabel('The lab’s file').setInputFiles(demo('soil_report.csv'));
  await press('Load it');
  await press('Read the file');
  const strange = page.locator('tbody tr').filter({ has: page.locator('td:first-child b', { hasText: 'Tunnel one' }) });
  await strange.getByLabel('Block').selectOption({ label: 'Tunnel 1' });
  await press('Keep the matches');
  await page.getByText('The samples are matched').waitFor();
  await page.goto('/reading');
  assert.equal(await page.locator('main a[href^="/reading/"]').count(), 14);
  await page.goto('/materials');
  await press('Tick the usual organic ones');
  await page.goto('/plan');
  await press(/^Make the plan/);
  await planFound(page);

  // What is to be ordered is ordered; all of it comes with its note, but a pack of the last material.
  await page.goto('/order');
  await press(/I ordered this/);
  await page.getByText('The order is written down').waitFor();
  const { lines } = JSON.parse(spadework('--json', 'order', book)).placed[0].order;
  assert.ok(lines.length > 2);
  for (const [n, line] of lines.entries()) {
    const came = n + 1 === lines.length ? line.count - 1 : line.count;
    if (came === 0) continue;
    await page.goto('/stock');
    await page.getByLabel('Material').selectOption(line.material);
    await page.getByLabel('How much').fill(`${came} x ${line.weight / POUND / line.count} lb`);
    await page.getByLabel('Lot', { exact: true }).fill(`L-${n}`);
    await page.getByLabel('Day').first().fill(`${SEASON}-02-20`);
    await page.getByLabel('Answers the order').selectOption({ index: 1 });
    await page.getByLabel('Paid').fill('100');
    await page.getByLabel('Note or bill').setInputFiles({ name: `note-${n}.txt`, mimeType: 'text/plain', buffer: Buffer.from(`Delivery note ${n}`) });
    await press('Write it down');
    await page.getByText('The delivery is written down').waitFor();
  }
  await page.goto('/order');
  await page.getByText('still to come').first().waitFor();
  await press('Nothing more of it will come');
  await page.goto('/plan');
  await press(/^Make the plan/);
  await planFound(page);

  // The year's jobs, one after the other as the Log lists them: the first in two parts, the second written
  // down twice too high and corrected.
  const planned = JSON.parse(spadework('--json', 'calendar', book, '--today', `${SEASON}-03-02`)).applications;
  assert.ok(planned.length > 10);
  const fill = async (job, amount) => {
    await page.goto(`/log/new?job=${encodeURIComponent(job.key)}`);
    if (amount) await page.getByLabel('How much went on').fill(amount);
    await page.getByLabel('Day').fill(`${SEASON}-05-02`);
    await page.getByLabel('Who', { exact: true }).fill('Ada');
    await page.getByLabel('Weather').fill('dry');
  };
  for (const [n, job] of planned.entries()) {
    if (n === 0) {
      await fill(job, `${job.lb / 4} lb`);
      await unfold(page);
      await page.getByLabel('How it went').selectOption('partly');
      await press('Write it down');
      await page.waitForURL('**/log?done=kept');
      await fill(job, `${job.lb - job.lb / 4} lb`);
    } else {
      await fill(job, n === 1 ? `${job.lb * 2} lb` : `${job.lb} lb`);
    }
    await press('Write it down');
    await page.waitForURL('**/log?done=kept');
    if (n === 1) {
      const all = JSON.parse(spadework('--json', 'log', book));
      await page.goto(`/log/new?entry=${all.length}`);
      assert.equal(await page.getByLabel('Day').inputValue(), `${SEASON}-05-02`, 'the day of what is corrected');
      await page.getByLabel('How much went on').fill(`${job.lb} lb`);
      await press('Keep the correction');
      await page.waitForURL('**/log?done=*');
    }
  }
  const done = JSON.parse(spadework('--json', 'calendar', book, '--today', `${SEASON}-05-03`)).applications;
  assert.deepEqual(done.filter((a) => a.state !== 'done').map((a) => a.key), []);

  // Summer and the end of the year.
  await page.goto('/log');
  const harvest = page.locator('form[action="/log/harvest"]');
  await harvest.locator('select').first().selectOption({ label: 'Barn Field' });
  await harvest.getByLabel('Day').fill(`${SEASON}-07-20`);
  await harvest.getByLabel('How many').fill('40');
  await harvest.getByLabel('Of what').fill('box');
  await harvest.getByLabel('What one weighs').fill('25 lb');
  await press('Write the harvest down');
  await page.getByText('The harvest is written down.').waitFor();
  const left = JSON.parse(spadework('--json', 'stock', book)).find((l) => l.end > POUND);
  await page.goto('/stock');
  await page.getByLabel('What was weighed').selectOption(`${left.material}|${left.lot}`);
  await page.getByLabel('What the scale showed').fill(`${left.end / POUND - 0.5} lb`);
  await page.locator('form[action="/stock/count"]').getByLabel('Day').fill(`${SEASON}-11-30`);
  await press('Keep the count');
  await page.getByText('The count is written down.').waitFor();

  // The packet, as files that other programs read.
  const span = `from=${SEASON}-01-01&to=${SEASON}-12-31`;
  await page.goto(`/record?${span}`);
  await page.getByText('counts found 8 oz less than the record made it').waitFor();
  await shot(page, 'year-record');
  const record = JSON.parse(spadework('--json', 'record', book, '--from', `${SEASON}-01-01`, '--to', `${SEASON}-12-31`));
  let used = 0;
  for (const b of record.balance) {
    assert.equal(b.begin + b.came + b.counted, b.used + b.end, b.lot);
    used += b.used;
  }
  const wanted = planned.reduce((sum, job) => sum + Math.round(job.lb * POUND), 0);
  assert.ok(Math.abs(used - wanted) <= 2 * planned.length, `${used} of ${wanted} hundredths of an ounce`);
  const spread = table((await send(at, 'GET', `/record/spread.csv?${span}`)).text);
  assert.equal(spread.length, planned.length + 2, 'both entries of what was corrected, both parts of the first');
  const printed = pdf((await send(at, 'GET', `/record.pdf?${span}`)).bytes);
  for (const word of ['Ada', 'note-0.txt', 'L-0', 'Purchase, use and stock']) assert.ok(printed.text.includes(word), word);
  const packed = (await send(at, 'GET', `/record/all.xlsx?${span}`)).bytes;
  assert.equal(packed.subarray(0, 2).toString('latin1'), 'PK');
  assert.deepEqual(page.complaints, []);
});
