// A farm is drawn from nothing, a block is cut and its past stays, a thousand blocks are dragged.
import test from 'node:test';
import assert from 'node:assert/strict';
import { file, folder, freshFarm, openBrowser, openPage, shot, spadework } from '../lib.mjs';
import { drag, manyBlocks } from '../drag.mjs';

const browser = await openBrowser();
test.after(() => browser.close());

const fill = (page, name, value) => page.fill(`[name="draw_${name}"]`, String(value));
const press = (page, name) => page.click(`[data-draw="${name}"]`);
/** Opens the fields of a tool that asks. */
const ask = async (page, name) => {
  const button = page.locator(`[data-strip="${name}"]`);
  if ((await button.getAttribute('aria-expanded')) !== 'true') await button.click();
};
const told = (page) => page.textContent('[data-draw="said"]');

async function sheet(page) {
  await page.goto('/ground/draw');
  await page.waitForSelector('#draw[data-ready]');
}

async function keep(page) {
  await press(page, 'keep');
  await page.waitForFunction(() => /is kept \(|Nothing was kept/.test(document.querySelector('[data-draw="said"]').textContent));
  assert.match(await told(page), /The drawing is kept/);
}

const outlines = (book) => JSON.parse(spadework('--json', 'outlines', book));

test('a farm of 14 blocks is drawn from nothing in less than five minutes', async (t) => {
  const began = Date.now();
  const { book, at } = await freshFarm(t);
  const page = await openPage(t, browser, at);
  await page.goto('/ground');
  await page.click('text=Draw the farm');
  await page.waitForSelector('#draw[data-ready]');
  // One by measure, and a row of five copied beside it with a path of 2 ft.
  await ask(page, 'add');
  await fill(page, 'new_name', 'Long Bed 1');
  await fill(page, 'new_length', 200);
  await fill(page, 'new_width', 30);
  await fill(page, 'new_east', 0);
  await fill(page, 'new_north', 0);
  await press(page, 'add-block');
  await fill(page, 'times', 5);
  await fill(page, 'gap', 2);
  await press(page, 'copy');
  // Four more by measure, two of them turned.
  for (const [name, length, width, degrees, east, north] of [
    ['Tunnel', 96, 30, 90, 80, 150],
    ['Slope', 150, 60, 30, -120, 0],
    ['Barn Field', 220, 110, 0, 320, 0],
    ['Herbs', 40, 12, 345, -60, 160],
  ]) {
    await fill(page, 'new_name', name);
    await fill(page, 'new_length', length);
    await fill(page, 'new_width', width);
    await fill(page, 'new_direction', degrees);
    await fill(page, 'new_east', east);
    await fill(page, 'new_north', north);
    await press(page, 'add-block');
  }
  await press(page, 'whole');
  // Four with the mouse: two rectangles, two corner by corner, beside the rest.
  await press(page, 'out');
  await page.locator('.tools').evaluate((e) => e.scrollIntoView());
  // Where a spot of the sheet is on the screen now, wherever the page was scrolled to.
  const to = async (x, y) => {
    const box = await page.locator('[data-draw="sheet"]').boundingBox();
    return [box.x + box.width * x, box.y + box.height * y];
  };
  for (const [x, y] of [[0.05, 0.08], [0.05, 0.75]]) {
    await page.click('[data-tool="rectangle"]');
    await page.mouse.click(...await to(x, y));
    await page.mouse.move(...await to(x + 0.06, y + 0.1), { steps: 4 });
    await page.mouse.click(...await to(x + 0.12, y + 0.16));
    await page.waitForTimeout(300);
  }
  for (const y of [0.08, 0.75]) {
    await page.click('[data-tool="outline"]');
    for (const [dx, dy] of [[0, 0], [0.1, 0.02], [0.08, 0.16], [0.01, 0.14]]) {
      await page.mouse.move(...await to(0.82 + dx, y + dy), { steps: 3 });
      await page.mouse.click(...await to(0.82 + dx, y + dy));
      await page.waitForTimeout(280);
    }
    await page.mouse.click(...await to(0.82, y));
    await page.waitForTimeout(300);
  }
  await shot(page, 'draw-14');
  // A well, and what was done last taken back and done again.
  await ask(page, 'mark');
  await page.click('[data-tool="point"]');
  await page.mouse.click(...await to(0.5, 0.06));
  assert.match(await page.textContent('[data-draw="tally"]'), /15 things are not kept/);
  await press(page, 'undo');
  assert.match(await page.textContent('[data-draw="tally"]'), /14 things are not kept/);
  await press(page, 'redo');
  await keep(page);
  const marks = await page.evaluate(async () => (await (await fetch('/ground/draw/sheet')).json()).marks);
  assert.deepEqual(marks.map((m) => [m.kind, m.form]), [['well', 'point']]);
  assert.match(await page.textContent('[data-draw="tally"]'), /Everything is kept/);
  const all = outlines(book);
  assert.equal(all.length, 14);
  const of = (name) => all.find((o) => o.block === name);
  for (const [name, ft2] of [['Long Bed 1', 6000], ['Long Bed 6', 6000], ['Tunnel', 2880], ['Slope', 9000], ['Barn Field', 24200], ['Herbs', 480]]) {
    assert.ok(Math.abs(of(name).gross_ft2 - ft2) < 0.01, `${name}: ${of(name).gross_ft2} ft², ${ft2} drawn`);
  }
  const took = (Date.now() - began) / 1000;
  t.diagnostic(`14 blocks drawn and kept in ${took.toFixed(1)} s`);
  assert.ok(took < 300);
  assert.deepEqual(page.complaints, []);
});

test('by keys alone a block is added, moved, turned, renamed, deleted and brought back', async (t) => {
  const { book, at } = await freshFarm(t);
  const page = await openPage(t, browser, at);
  await sheet(page);
  await page.focus('[data-strip="add"]');
  await page.keyboard.press('Enter');
  await page.focus('[name="draw_new_length"]');
  await page.keyboard.press('Control+A');
  await page.keyboard.type('100');
  await page.focus('[data-draw="add-block"]');
  await page.keyboard.press('Enter');
  await page.focus('[data-draw="sheet"]');
  const east = () => page.inputValue('[name="draw_east"]').then(Number);
  const before = await east();
  await page.keyboard.press('ArrowRight');
  assert.ok((await east()) > before);
  await page.keyboard.press(']');
  assert.equal(await page.inputValue('[name="draw_direction"]'), '5');
  await page.keyboard.press('Delete');
  assert.equal(await page.locator('[data-draw="list"] option').count(), 1);
  await page.keyboard.press('Control+z');
  assert.equal(await page.locator('[data-draw="list"] option').count(), 2);
  await page.focus('[data-draw="list"]');
  await page.keyboard.press('ArrowDown');
  await page.focus('[name="draw_name"]');
  await page.keyboard.press('Control+A');
  await page.keyboard.type('Corner');
  await page.keyboard.press('Enter');
  await page.focus('[data-draw="keep"]');
  await page.keyboard.press('Enter');
  await page.waitForFunction(() => /is kept \(/.test(document.querySelector('[data-draw="said"]').textContent));
  const [only] = outlines(book);
  assert.equal(only.block, 'Corner');
  assert.ok(Math.abs(only.gross_ft2 - 3000) < 0.01);
  assert.deepEqual(page.complaints, []);
});

test('a drawing that crosses itself is refused with a sentence and stays on the sheet', async (t) => {
  const { book, at } = await freshFarm(t);
  const page = await openPage(t, browser, at);
  await sheet(page);
  const box = await page.locator('[data-draw="sheet"]').boundingBox();
  await page.click('[data-tool="outline"]');
  for (const [x, y] of [[0.3, 0.3], [0.6, 0.6], [0.6, 0.3], [0.3, 0.6], [0.3, 0.3]]) {
    await page.mouse.move(box.x + box.width * x, box.y + box.height * y, { steps: 3 });
    await page.mouse.click(box.x + box.width * x, box.y + box.height * y);
    await page.waitForTimeout(280);
  }
  await press(page, 'keep');
  await page.waitForFunction(() => /Nothing was kept/.test(document.querySelector('[data-draw="said"]').textContent));
  assert.match(await told(page), /crosses itself/);
  assert.match(await page.textContent('[data-draw="tally"]'), /1 thing is not kept/);
  assert.equal(outlines(book).length, 0);
});

test('a block is cut along a drawn line', async (t) => {
  const { book, at } = await freshFarm(t);
  const page = await openPage(t, browser, at);
  await sheet(page);
  await ask(page, 'add');
  await fill(page, 'new_name', 'Creek');
  await fill(page, 'new_length', 200);
  await fill(page, 'new_width', 100);
  await press(page, 'add-block');
  await keep(page);
  await page.selectOption('[data-draw="list"]', { label: 'Creek' });
  await press(page, 'whole');
  await ask(page, 'cut');
  await fill(page, 'left', 'Creek West');
  await fill(page, 'right', 'Creek East');
  await page.click('[data-tool="cut"]');
  await page.locator('[data-draw="sheet"]').scrollIntoViewIfNeeded();
  const box = await page.locator('[data-draw="sheet"]').boundingBox();
  const middle = box.x + box.width / 2;
  // Northward: the west lies to the left.
  await page.mouse.click(middle, box.y + box.height - 15);
  await page.waitForTimeout(300);
  await page.mouse.move(middle, box.y + 15, { steps: 4 });
  await page.mouse.dblclick(middle, box.y + 15);
  await page.waitForFunction(() => /It is cut|Nothing was changed|Choose a block/.test(document.querySelector('[data-draw="said"]').textContent));
  assert.match(await told(page), /cut into “Creek West” and “Creek East”/);
  const all = outlines(book);
  assert.deepEqual(all.map((o) => o.block), ['Creek East', 'Creek West']);
  assert.ok(Math.abs(all[0].gross_ft2 + all[1].gross_ft2 - 20_000) < 0.01);
  assert.deepEqual(page.complaints, []);
});

test('a block that was split still shows its past reports', async (t) => {
  const { book, at } = await freshFarm(t, { ground: file('ground.csv') });
  spadework('import', book, file('good.csv'));
  const page = await openPage(t, browser, at);
  await page.goto('/ground/draw');
  const name = await page.evaluate(async () => (await (await fetch('/ground/draw/sheet')).json()).without[0][1]);
  await page.click('summary:has-text("Without drawing")');
  await page.fill('form[action="/ground/draw"] [name="name"]', name);
  await page.fill('form[action="/ground/draw"] [name="length"]', '200');
  await page.fill('form[action="/ground/draw"] [name="width"]', '60');
  await page.click('text=Put it on the map');
  await page.click('text=Beds, spots, split');
  await page.fill('[name="feet"]', '80');
  await page.fill('[name="near"]', 'Near End');
  await page.fill('[name="rest"]', 'Far End');
  await page.click('button:has-text("Split it")');
  await page.waitForSelector('h1:has-text("Near End")');
  assert.match(await page.textContent('.lede'), /4,800 ft²/);
  assert.match(await page.textContent('.past'), new RegExp(`${name}, until 2027: sample`));
  await shot(page, 'split-past');
  await page.setViewportSize({ width: 360, height: 800 });
  await shot(page, 'split-past-360');
  await page.goto('/reading');
  await page.click('a:has-text("Near End")');
  assert.match(await page.textContent('.past'), /not its own/);
  assert.deepEqual(page.complaints, []);
});

test('a thousand blocks are drawn and dragged smoothly', async (t) => {
  const { book, at } = await freshFarm(t);
  spadework('outlines', book, manyBlocks(folder(t), 1000), '--add', '--write');
  const page = await openPage(t, browser, at);
  const { times, share } = await drag(page);
  t.diagnostic(
    `1,000 blocks dragged: ${times.length} frames, median ${share(0.5).toFixed(1)} ms, 95 % below ${share(0.95).toFixed(1)} ms, longest ${share(1).toFixed(1)} ms`,
  );
  assert.match(await page.textContent('[data-draw="tally"]'), /1 thing is not kept/);
  // Modest, since the check shares its processor: ten frames a second at the median.
  assert.ok(times.length > 20 && share(0.5) < 100, `${share(0.5)} ms`);
  await shot(page, 'draw-thousand');
});
