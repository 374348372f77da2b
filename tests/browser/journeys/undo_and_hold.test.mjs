// Taking a change back, and amounts that the grower holds.
import { after, before, test } from 'node:test';
import assert from 'node:assert/strict';
import { demoFarm, file, freshFarm, openBrowser, openPage, planFound, spadework } from '../lib.mjs';

let browser;
before(async () => (browser = await openBrowser()));
after(() => browser.close());

test('a changed block is as it was after undo, and gone after a second', async (t) => {
  const { at } = await freshFarm(t, { ground: file('ground.csv') });
  const page = await openPage(t, browser, at);
  const row = () => page.getByRole('row').filter({ hasText: 'Pear Piece' });
  const undo = async () => {
    await page.getByRole('link', { name: 'Changes and undo' }).click();
    await page.getByRole('button', { name: 'Undo the last change' }).click();
    assert.match(await page.getByRole('status').innerText(), /^Undone: .*Pear Piece/);
  };
  await page.goto('/ground/new');
  await page.getByLabel('Name', { exact: true }).fill('Pear Piece');
  await page.getByLabel('Length ft', { exact: true }).fill('40');
  await page.getByLabel('Width ft', { exact: true }).fill('30');
  await page.getByLabel('Crop', { exact: true }).selectOption('carrot');
  await page.getByRole('button', { name: 'Keep', exact: true }).click();
  assert.match(await row().innerText(), /1,200 ft²[\s\S]*Carrot/);

  await row().getByRole('link', { name: 'Pear Piece' }).click();
  await page.getByLabel('Length ft', { exact: true }).fill('80');
  await page.getByLabel('Crop', { exact: true }).selectOption('onion');
  await page.getByRole('button', { name: 'Keep', exact: true }).click();
  assert.match(await row().innerText(), /2,400 ft²[\s\S]*Onion/);

  await undo();
  assert.match(await page.locator('tbody tr').filter({ has: page.getByRole('cell', { name: 'change Pear Piece', exact: true }) }).innerText(), /undone/);
  await page.goto('/ground');
  assert.match(await row().innerText(), /1,200 ft²[\s\S]*Carrot/, 'size and crop are both back');
  await undo();
  await page.goto('/ground');
  assert.equal(await row().count(), 0);
  assert.equal(await page.locator('tbody tr').count(), 3, 'the other blocks stay');
  assert.deepEqual(page.complaints, []);
});

test('a block taken out comes back with its crop and test', async (t) => {
  const { at } = await demoFarm(t, { planned: false });
  const page = await openPage(t, browser, at);
  await page.goto('/ground');
  const row = () => page.locator('tbody tr').filter({ hasText: 'Creek Field' });
  const before = await row().innerText();
  await row().getByRole('link').first().click();
  await page.getByRole('button', { name: 'Take this block out' }).click();
  assert.match(await page.getByRole('status').innerText(), /taken out/);
  assert.equal(await row().count(), 0);
  await page.goto('/changes');
  await page.getByRole('button', { name: 'Undo the last change' }).click();
  await page.goto('/ground');
  assert.equal(await row().innerText(), before);
});

async function hold(page, block, material, lb) {
  await page.goto('/plan');
  await page.getByRole('link', { name: block }).first().click();
  const field = page.locator(`[name="${material}@spring"]`);
  if (!(await field.isVisible())) await page.locator('details', { has: field }).locator('summary').first().click();
  await field.fill(lb);
  await page.getByRole('button', { name: 'Hold and plan again' }).click();
  await planFound(page);
}

/** What the plan puts on a block of a material, lb, as its page says it. */
async function planned(page, block, material) {
  await page.goto('/plan');
  await page.getByRole('link', { name: block }).first().click();
  const lines = page.locator('h2:has-text("What goes on") ~ .scroll').first().locator('tbody tr').filter({ hasText: material }).filter({ hasText: 'Early spring' });
  if ((await lines.count()) === 0) return '0 lb';
  // The amount of the whole block stands before the rate.
  return (await lines.first().locator('td').nth(-2).innerText()).split('\n')[0].trim();
}

test('a held amount stays exactly as it is', async (t) => {
  const { at, book } = await demoFarm(t);
  const page = await openPage(t, browser, at);
  const before = await planned(page, 'Creek Field', 'Feather meal');
  for (const [typed, shown] of [['17.5', '17.5 lb'], ['37', '37 lb'], ['0', '0 lb']]) {
    assert.notEqual(before, shown, 'the amount is not what the plan had anyway');
    await hold(page, 'Creek Field', 'feather_meal', typed);
    assert.match(await page.getByRole('status').innerText(), /The amount is held and the rest is fitted around it\. Materials cost/);
    assert.doesNotMatch(await page.locator('main').innerText(), /Out of date/);
    assert.equal(await planned(page, 'Creek Field', 'Feather meal'), shown);
    assert.equal(await page.locator('[name="feather_meal@spring"]').inputValue(), typed);
  }
  // To the ounce in what is stored, whatever the page rounds for a scale.
  await hold(page, 'Creek Field', 'feather_meal', '37.0625');
  const { amounts } = JSON.parse(spadework('--json', 'plan', book)).plan;
  assert.deepEqual(amounts.filter((a) => a.block === '2' && a.material === 'feather_meal' && a.pass === 'spring').map((a) => a.lb), [37.0625]);
  // An empty field lets it go.
  await hold(page, 'Creek Field', 'feather_meal', '');
  const freed = await planned(page, 'Creek Field', 'Feather meal');
  assert.notEqual(freed, '37.1 lb');
  assert.deepEqual(page.complaints, []);
});

test('an amount that cannot be is answered with a sentence and not held', async (t) => {
  const { at } = await demoFarm(t);
  const page = await openPage(t, browser, at);
  for (const [typed, says] of [
    ['-5', /from 0 to/],
    ['many', /“many” is not a number/],
    ['1e300', /from 0 to/],
    ['NaN', /“NaN” is not a number/],
  ]) {
    await hold(page, 'Creek Field', 'feather_meal', typed);
    assert.match(await page.getByRole('alert').innerText(), says, typed);
    await page.goto('/plan/2');
    assert.equal(await page.locator('[name="feather_meal@spring"]').inputValue(), '', `${typed} was held`);
  }
});

test('an amount above what may go on at once leads to a sentence, and the old plan stays', async (t) => {
  const { at } = await demoFarm(t);
  const page = await openPage(t, browser, at);
  const before = await planned(page, 'Creek Field', 'Feather meal');
  await hold(page, 'Creek Field', 'sulfur', '90000');
  const said = await page.getByRole('alert').innerText();
  assert.match(said, /90,000 lb of .*sulfur is held for Creek Field, but at most [\d,]+ lb may go there/);
  assert.equal(await planned(page, 'Creek Field', 'Feather meal'), before);
});
