// A job written down on a phone in the field: with a signal, without one, with the page loaded again in
// between, with the answer lost on its way. Every entry ends in the book once.
import test from 'node:test';
import assert from 'node:assert/strict';
import { demoFarm, openBrowser, openPage, picture, spadework } from '../lib.mjs';

const entries = (book) => JSON.parse(spadework('--json', 'log', book));
const ready = (page) => page.locator('#waiting[data-ready=yes]').waitFor({ state: 'attached' });

async function fill(page, amount, who) {
  await page.getByLabel('How much went on').fill(amount);
  await page.getByLabel('Who', { exact: true }).fill(who);
}

test('a job is written down without a signal, and sent once when it is back', async (t) => {
  const browser = await openBrowser();
  t.after(() => browser.close());
  const { book, at } = await demoFarm(t);
  const page = await openPage(t, browser, at, { viewport: { width: 360, height: 740 } });
  await page.goto('/log');
  await ready(page);
  const jobs = page.locator('a[href^="/log/new?job="]');
  const first = await jobs.nth(0).getAttribute('href');
  const second = await jobs.nth(1).getAttribute('href');
  await page.waitForFunction(
    async (path) => Boolean(await (await caches.open('pages-1')).match(path)),
    second,
  );
  await picture(page, 'log-360');

  await page.goto(first);
  await ready(page);
  await fill(page, '11.25 lb', 'Ada');
  await picture(page, 'log-job-360');
  await page.getByRole('button', { name: 'Write it down' }).click();
  await page.waitForURL('**/log?done=kept');
  assert.equal(entries(book).length, 1);

  // The signal goes; the form of the second job opens all the same and keeps what is written.
  await page.context().setOffline(true);
  await page.goto(second);
  await ready(page);
  await page.locator('figure.job-map path.here').waitFor();
  await fill(page, '12.5 lb', 'Ben');
  await page.getByRole('button', { name: 'Write it down' }).click();
  await page.getByText('Kept on this device.').waitFor();
  await picture(page, 'log-no-signal-360');
  await page.reload();
  await page.getByText('1 entry waits on this device').waitFor();
  // Another on the page that was loaded again: it is its own entry.
  await ready(page);
  await fill(page, '3.75 lb', 'Ben');
  await page.getByRole('button', { name: 'Write it down' }).click();
  await page.getByText('2 entries wait').waitFor();
  assert.equal(entries(book).length, 1);

  await page.context().setOffline(false);
  await page.getByText('2 entries that waited are in the book.').waitFor();
  const all = entries(book).map((e) => [e.weight, e.person]);
  assert.deepEqual(all.sort((a, b) => a[0] - b[0]), [[6000, 'Ben'], [18000, 'Ada'], [20000, 'Ben']]);
  page.complaints = page.complaints.filter((c) => !/ERR_INTERNET_DISCONNECTED/.test(c));
  assert.deepEqual(page.complaints, []);
});

test('an answer that is lost on its way doubles nothing', async (t) => {
  const browser = await openBrowser();
  t.after(() => browser.close());
  const { book, at } = await demoFarm(t);
  // Requests of a page under a worker pass it by; without one they can be caught here.
  const page = await openPage(t, browser, at);
  let lost = 0;
  await page.context().route('**/log', async (route) => {
    if (route.request().method() !== 'POST' || lost > 1) return route.continue();
    lost += 1;
    await route.fetch(); // the book has it …
    await route.abort('connectionreset'); // … and the phone never hears
  });
  await page.goto('/log/new');
  await ready(page);
  await fill(page, '7.25 lb', 'Ada');
  await page.getByRole('button', { name: 'Write it down' }).click();
  await page.getByText('1 entry waits').waitFor();
  assert.equal(entries(book).length, 1);
  await page.reload();
  await page.getByText('1 entry waits').waitFor();
  await page.reload();
  await page.getByText('The entry that waited is in the book.').waitFor();
  assert.equal(lost, 2);
  assert.equal(entries(book).length, 1);
});

test('what the book refuses is said and can be mended', async (t) => {
  const browser = await openBrowser();
  t.after(() => browser.close());
  const { book, at } = await demoFarm(t);
  const page = await openPage(t, browser, at);
  await page.goto('/log/new');
  await ready(page);
  await fill(page, 'plenty', 'Ada');
  await page.getByRole('button', { name: 'Write it down' }).click();
  await page.getByText('is not a number with a unit').waitFor();
  await fill(page, '9 lb', 'Ada');
  await page.getByRole('button', { name: 'Write it down' }).click();
  await page.waitForURL('**/log?done=kept');
  assert.equal(entries(book).length, 1);
});
