// Other ways to plan: wishes, suppliers, plans to choose from, what holds one back, two side by side.
import { after, before, test } from 'node:test';
import assert from 'node:assert/strict';
import { demoFarm, openBrowser, openPage, planFound, shot } from '../lib.mjs';

let browser;
before(async () => (browser = await openBrowser()));
after(() => browser.close());

/** Presses a button that may begin a search, and waits for what it leads to. */
async function press(page, name) {
  await page.getByRole('button', { name, exact: true }).click();
  await planFound(page);
}

const text = (page) => page.locator('main').innerText();

for (const width of [1280, 360]) {
  test(`a season is planned otherwise, at ${width} px`, async (t) => {
    const { at } = await demoFarm(t);
    const page = await openPage(t, browser, at, { viewport: { width, height: 900 } });

    await page.goto('/plan');
    await shot(page, `plan-${width}`);
    await page.getByRole('link', { name: 'How to plan' }).click();
    await shot(page, `how-${width}`);
    await page.getByLabel('Autumn', { exact: true }).uncheck();
    await page.getByLabel(/^Budget/).fill('1500');
    await page.getByRole('button', { name: 'Keep', exact: true }).click();
    assert.match(await page.getByRole('status').innerText(), /It is kept/);
    assert.match(await text(page), /Out of date\.[\s\S]*the passes of the season changed and the budget changed/);
    await press(page, 'Make the plan again');
    const spent = Number((await page.locator('p.lede').innerText()).match(/for USD ([\d,.]+)\./)[1].replace(',', ''));
    assert.ok(spent > 1_300 && spent <= 1_500, `${spent} of a budget of 1,500`);
    assert.doesNotMatch(await text(page), /Out of date/);
    await shot(page, `budget-${width}`);

    await page.goto('/suppliers');
    assert.match(await text(page), /None is entered/);
    await page.getByLabel('Name', { exact: true }).fill('Hollow Mill');
    await page.getByLabel(/^Delivery/).fill('85');
    await page.getByLabel(/^Free from/).fill('5000');
    await page.getByRole('button', { name: 'Keep', exact: true }).click();
    assert.match(await page.locator('tbody tr').innerText(), /Hollow Mill\s+USD 85\.00\s+USD 5,000\.00/);
    await shot(page, `suppliers-${width}`);
    await page.goto('/materials/feather_meal');
    await page.getByLabel('From', { exact: true }).first().selectOption('Hollow Mill');
    await page.getByLabel('Lower prices', { exact: true }).first().fill('10: 41.50; 20: 38');
    await page.getByLabel('On hand by lot', { exact: true }).fill('L-204: 150');
    await shot(page, `material-${width}`);
    await page.getByRole('button', { name: 'Keep', exact: true }).click();
    assert.match(await page.getByRole('row').filter({ hasText: 'Feather meal' }).innerText(), /210 lb/, 'lots and the rest');
    await page.goto('/plan');
    await press(page, 'Make the plan again');
    await page.goto('/order');
    assert.match(await text(page), /Delivery by Hollow Mill[\s\S]*85\.00/);
    await shot(page, `order-${width}`);

    await page.goto('/plan/limits');
    await press(page, 'Find out');
    assert.match(await text(page), /a tenth more budget/);
    assert.match(await text(page), /no delivery charge from Hollow Mill/);
    await shot(page, `limits-${width}`);

    await page.goto('/plan/offers');
    await press(page, 'Work them out');
    const rows = page.locator('tbody tr');
    assert.ok((await rows.count()) >= 6);
    await shot(page, `offers-${width}`);
    const cheapest = rows.filter({ hasText: 'Cheapest' });
    const cost = (await cheapest.locator('td').nth(1).innerText()).trim();
    await cheapest.getByRole('button', { name: 'Choose' }).click();
    assert.match(await page.getByRole('status').innerText(), /The plan is chosen/);
    assert.ok((await text(page)).includes(cost), `${cost} is the plan now`);
    assert.doesNotMatch(await text(page), /Out of date/, 'the book is set as the offer was');

    await page.goto('/plan/compare');
    assert.match(await text(page), /Materials and deliveries/);
    assert.ok((await page.locator('table').last().locator('tbody tr').count()) > 3, 'amounts differ');
    await shot(page, `compare-${width}`);
    await page.goto('/plan/years');
    assert.match(await text(page), /Creek Field[\s\S]*pH[\s\S]*towards 6/);
    await shot(page, `years-${width}`);
    assert.deepEqual(page.complaints, []);
  });
}

test('an offer of an older plan is not taken for one of the new', async (t) => {
  const { at } = await demoFarm(t);
  const page = await openPage(t, browser, at);
  await page.goto('/plan/offers');
  await press(page, 'Work them out');
  const choose = page.getByRole('button', { name: 'Choose' }).first();
  const other = await openPage(t, browser, at);
  await other.goto('/plan');
  await press(other, 'Make the plan again');
  await choose.click();
  assert.match(await page.getByRole('alert').innerText(), /no longer on offer/);
});
