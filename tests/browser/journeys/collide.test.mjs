// Wishes that cannot all be kept, and the prices at which materials come in.
import { after, before, test } from 'node:test';
import assert from 'node:assert/strict';
import { demoFarm, openBrowser, openPage, planFound, shot } from '../lib.mjs';

let browser;
before(async () => (browser = await openBrowser()));
after(() => browser.close());

const text = (page) => page.locator('main').innerText();

for (const width of [1280, 360]) {
  test(`what collides is told and cleared, at ${width} px`, async (t) => {
    const { at } = await demoFarm(t, { planned: false });
    const page = await openPage(t, browser, at, { viewport: { width, height: 900 } });
    await page.goto('/plan/how');
    await page.getByLabel(/^Budget/).fill('100');
    await page.getByRole('button', { name: 'Keep', exact: true }).click();
    await page.goto('/plan/1');
    await page.getByText('Hold an amount by hand').click();
    await page.getByLabel('Feather meal, At planting, lb').fill('400');
    await page.getByRole('button', { name: 'Hold and plan again' }).click();
    assert.match(await page.getByRole('status').innerText(), /No plan was made/);
    const alert = page.getByRole('alert');
    assert.match(await alert.innerText(), /What is held costs at least [\d,.]+, but the budget is 100/);
    await shot(page, `collide-${width}`);
    const ways = await alert.getByRole('button').allInnerTexts();
    assert.ok(ways.some((w) => /^Hold [\d,.]+ lb of feather meal on .* instead of 400 lb$/.test(w)), ways.join('; '));
    const raise = ways.find((w) => /^Raise the budget from USD 100\.00 to USD [\d,.]+$/.test(w));
    assert.ok(raise, ways.join('; '));
    await alert.getByRole('button', { name: raise, exact: true }).click();
    assert.match(await page.getByRole('status').innerText(), /The change is kept/);
    assert.equal(await page.getByRole('alert').count(), 0);
    await page.getByRole('button', { name: 'Make the plan' }).click();
    await planFound(page);
    assert.match(await text(page), /400/);
    assert.deepEqual(page.complaints, []);
  });
}

test('each material left out has a price at which it comes in', async (t) => {
  const { at } = await demoFarm(t);
  const page = await openPage(t, browser, at);
  await page.goto('/plan/left-out');
  await page.getByRole('button', { name: 'Find the prices' }).click();
  await page.getByText(/[1-9]\d* of \d+ are done/).waitFor({ timeout: 60_000 });
  await shot(page, 'left-out-wait');
  await planFound(page, 150_000);
  const rows = page.locator('tbody tr');
  assert.ok((await rows.count()) >= 3);
  for (const row of await rows.all()) {
    const cells = await row.locator('td').allInnerTexts();
    if (cells.length < 6) {
      assert.match(cells[3], /not taken even as a gift/);
      continue;
    }
    const [now, at] = [cells[2], cells[3]].map((c) => Number(c.replace(',', '')));
    assert.ok(at >= 0 && at < now, cells.join(' | '));
  }
  await shot(page, 'left-out');
  assert.deepEqual(page.complaints, []);
});
