// From what is due to closed boxes: plan, labels, ticks on a phone with and without a signal and script, the
// report.
import { after, before, test } from 'node:test';
import assert from 'node:assert/strict';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { ROOT, folder, freshFarm, openBrowser, openPage, overflow, pdf, picture, send, shot, spadework } from '../lib.mjs';

const PHONE = { viewport: { width: 360, height: 740 }, hasTouch: true, isMobile: true };

let browser;
before(async () => (browser = await openBrowser()));
after(() => browser.close());

/** The invented farm's ground and outlines in a fresh book, with boxes for some of its blocks. */
async function farm(t, make = []) {
  const { book, at } = await freshFarm(t, { ground: join(ROOT, 'demo/ground.csv') });
  spadework('outlines', book, join(ROOT, 'demo/outlines.geojson'), '--write');
  for (const block of make) spadework('sampling', book, '--make', block);
  return { book, at };
}

const boxes = (book) => JSON.parse(spadework('--json', 'boxes', book));

test('from what is due to closed boxes', async (t) => {
  const { book, at } = await farm(t);
  const page = await openPage(t, browser, at);
  await page.goto('/ground');
  await page.getByRole('link', { name: 'Sampling', exact: true }).click();
  assert.match(await page.locator('.lede').innerText(), /14 never tested/);
  await page.getByLabel('Standard soil test').fill('18');
  await page.getByLabel('Buffer pH').fill('0');
  await page.getByLabel('Soluble salts').fill('6');
  await page.getByRole('button', { name: 'Keep the fees' }).click();
  await page.getByText('The lab’s fees are kept.').waitFor();
  // Fourteen boxes, two of them from tunnels with salts.
  assert.match(await page.locator('main').innerText(), /The 14 ticked, a box each: USD 264\.00/);
  await shot(page, 'sampling-1280');
  await page.getByRole('link', { name: 'why for Tunnel 1' }).click();
  assert.match(await page.locator('main').innerText(), /Under cover: before each year’s transplanting/);
  assert.match(await page.locator('main').innerText(), /Soluble salts/);
  assert.equal(await page.locator('figure.plot svg polyline').count(), 3, 'a line for each test');
  await shot(page, 'sampling-block-1280');
  await page.getByLabel('To know').selectOption('ph');
  await page.getByLabel(/^within/).fill('0.2');
  await page.getByRole('button', { name: 'How many cores' }).click();
  assert.match(await page.locator('[role=status]').innerText(), /^10 cores, in 8 of 10 cases/);
  await page.getByLabel('An old orchard').check();
  await page.getByRole('button', { name: 'Keep', exact: true }).click();
  await page.getByText('It is kept.').waitFor();
  assert.match(await page.locator('main').innerText(), /Lead screening/);

  await page.goto('/sampling');
  // All but three stay for another day.
  for (const box of await page.locator('input[name=block]').all()) await box.uncheck();
  for (const name of ['Tunnel 1', 'Lower Field 1', 'Lower Field 2']) await page.getByLabel(name, { exact: true }).check();
  await page.getByLabel(/Barn Field and Lower Field 1 and|Lower Field 1 and Lower Field 2/).check();
  await page.getByRole('button', { name: 'Make the boxes' }).click();
  await page.getByText('The boxes are made').waitFor();
  const made = boxes(book).reverse();
  assert.deepEqual(made.map((b) => b.parts.length).sort(), [1, 2]);
  assert.deepEqual(made.find((b) => b.parts.length === 1).tests, ['standard', 'buffer_ph', 'salts', 'lead']);
  await shot(page, 'sampling-boxes-1280');

  const labels = await send(at, 'GET', '/sampling/labels.pdf?stock=letter-10');
  assert.match(pdf(labels.bytes).text, new RegExp(made[0].label));
  const walks = pdf((await send(at, 'GET', '/sampling/walks.pdf?language=es')).bytes);
  assert.equal(walks.pages, 3);
  assert.match(walks.text, /Muestras de suelo en Lower Field 2/);
  assert.match(walks.text, /Puede haber plomo/);

  // What a phone does that read the code on a label.
  const phone = await openPage(t, browser, at, PHONE);
  const tunnel = made.find((b) => b.parts.length === 1);
  await phone.goto(`/sampling/box/${tunnel.id}`);
  await phone.getByText('0 of 10 cores taken').waitFor();
  const first = phone.locator('button.core').first();
  const size = await first.boundingBox();
  assert.ok(size.height >= 48 && size.width > 300, 'a thumb finds it');
  assert.match(await first.innerText(), /bed \d+, \d+ ft from the \w+ end/);
  for (const core of await phone.locator('button.core').all()) await core.tap();
  await phone.getByText('10 of 10 cores taken').waitFor();
  await phone.locator('[data-unsent]').waitFor({ state: 'hidden' });
  await shot(phone, 'box-360');
  await phone.getByRole('button', { name: 'The box is filled' }).tap();
  await phone.getByText('It was sent today').waitFor();
  assert.equal(boxes(book).find((b) => b.id === tunnel.id).parts[0].taken.length, 10);

  await page.goto('/sampling/boxes');
  assert.match(await page.locator('main').innerText(), /1 to fill and 1 filled/);
  const shared = made.find((b) => b.parts.length === 2);
  spadework('boxes', book, '--filled', shared.label);
  spadework('boxes', book, '--sent', new Date().toISOString().slice(0, 10));
  const report = join(folder(t), 'report.csv');
  writeFileSync(report, `Sample,pH,P ppm (Mehlich-3),K ppm (Mehlich-3)\n${tunnel.label},6.5,80,200\n${shared.label},6.3,60,150\n`);
  await page.goto('/lab');
  await page.getByLabel('The lab’s file').setInputFiles(report);
  await page.getByRole('button', { name: 'Load it' }).click();
  await page.getByRole('button', { name: 'Read the file' }).click();
  await page.waitForURL(/\/lab\/\d+/);
  await page.goto('/sampling/boxes');
  assert.match(await page.locator('main').innerText(), /Results in/);
  assert.ok(boxes(book).every((b) => b.report !== null), 'every box is answered');
  await page.goto('/sampling');
  assert.match(await page.locator('main').innerText(), /11 never tested/);
  assert.deepEqual([...page.complaints, ...phone.complaints], []);
});

test('ticks are kept where there is no signal, over closing and opening anew, and arrive once', async (t) => {
  const { book, at } = await farm(t, ['Lower Field 1']);
  const phone = await openPage(t, browser, at, PHONE);
  const [{ id }] = boxes(book);
  const taken = () => boxes(book)[0].parts[0].taken;
  await phone.goto(`/sampling/box/${id}`);
  await phone.getByText('opens and ticks without a signal too').waitFor();
  await phone.locator('button.core').nth(0).tap();
  await phone.waitForFunction(() => document.querySelector('[data-unsent]').hidden);
  assert.deepEqual(taken(), [1]);
  // The copy for later holds what has arrived.
  await phone.waitForFunction(async () => {
    const kept = await (await caches.open('pages-1')).match(location.pathname);
    return (await kept.text()).includes('aria-pressed="true"');
  });
  // The Log pages are kept on the same device, and clear nothing of the box away.
  await phone.goto('/log');
  await phone.waitForFunction(async () => Boolean(await caches.match('/log')));
  const both = await phone.evaluate(async (path) => Boolean(await caches.match(path)), `/sampling/box/${id}`);
  assert.ok(both, 'the page of the box is still kept');
  await phone.goto(`/sampling/box/${id}`);
  await phone.getByText('opens and ticks without a signal too').waitFor();
  await phone.context().setOffline(true);
  for (const n of [1, 2, 3, 3]) await phone.locator('button.core').nth(n).tap();
  await phone.getByText('kept on this phone until there is a signal').waitFor();
  await phone.getByText('3 of 12 cores taken').waitFor();
  assert.deepEqual(taken(), [1], 'nothing has arrived');
  await shot(phone, 'box-away-360');
  // Closed and opened anew, still without a signal.
  await phone.reload();
  await phone.getByText('3 of 12 cores taken').waitFor();
  await phone.getByText('kept on this phone until there is a signal').waitFor();
  await phone.getByRole('button', { name: 'The box is filled' }).tap();
  await phone.getByText('Filled: kept on this phone').waitFor();
  await phone.context().setOffline(false);
  await phone.reload();
  await phone.locator('[data-unsent]').waitFor({ state: 'hidden' });
  await phone.waitForFunction(() => localStorage.getItem('sampling-ticks') === '[]');
  assert.deepEqual(taken(), [1, 2, 3]);
  assert.equal(boxes(book)[0].filled_on !== null, true);
});

test('a box is ticked without script, and its page fits', async (t) => {
  const { book, at } = await farm(t, ['Upper Field East']);
  const phone = await openPage(t, browser, at, { ...PHONE, javaScriptEnabled: false });
  const [{ id }] = boxes(book);
  await phone.goto(`/sampling/box/${id}`);
  await phone.locator('button.core').nth(4).tap();
  await phone.waitForURL(/#core-\d+-5$/);
  assert.deepEqual(boxes(book)[0].parts[0].taken, [5]);
  await phone.locator('button.core').nth(4).tap();
  await phone.getByText('0 of 12 cores taken').waitFor();
  await phone.getByRole('button', { name: 'The box is filled' }).tap();
  await phone.getByText('is filled.', { exact: false }).first().waitFor();
  await phone.getByRole('button', { name: 'one step back' }).tap();
  await phone.getByText('to fill').first().waitFor();
  for (const path of ['/sampling', `/sampling/${boxes(book)[0].block}`, '/sampling/boxes', `/sampling/box/${id}`]) {
    await phone.goto(path);
    await picture(phone, `plain${path.replaceAll('/', '-')}-360`);
  }
  // Measured where script may run.
  const wide = await openPage(t, browser, at, PHONE);
  for (const path of ['/sampling', `/sampling/${boxes(book)[0].block}`, '/sampling/boxes', `/sampling/box/${id}`]) {
    await wide.goto(path);
    assert.equal(await overflow(wide), null, path);
  }
});

test('a second box for one block is refused with a sentence, and the old address leads on', async (t) => {
  const { book, at } = await farm(t, ['Tunnel 2']);
  const page = await openPage(t, browser, at);
  await page.goto('/sampling');
  await page.getByLabel('Tunnel 2', { exact: true }).check();
  for (const box of await page.locator('input[name=block]').all()) {
    if ((await box.getAttribute('value')) !== String(boxes(book)[0].block)) await box.uncheck();
  }
  await page.getByRole('button', { name: 'Make the boxes' }).click();
  assert.match(await page.locator('[role=alert]').innerText(), /“Tunnel 2” has a box already/);
  await page.goto('/lab/boxes');
  assert.equal(new URL(page.url()).pathname, '/sampling/boxes');
});
