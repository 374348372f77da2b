// The rest of the ground: the photo is laid by clicks and by keys, streams have a width, the farm gets its
// place on the earth, blocks are joined, and the forms of one block serve at both widths.
import test from 'node:test';
import assert from 'node:assert/strict';
import { deflateSync } from 'node:zlib';
import { freshFarm, openBrowser, openPage, overflow, faults, shot, spadework } from '../lib.mjs';

const browser = await openBrowser();
test.after(() => browser.close());

const fill = (page, name, value) => page.fill(`[name="draw_${name}"]`, String(value));
const press = (page, name) => page.click(`[data-draw="${name}"]`);
const told = (page) => page.textContent('[data-draw="said"]');
const outlines = (book) => JSON.parse(spadework('--json', 'outlines', book));

async function sheet(page) {
  await page.goto('/ground/draw');
  await page.waitForSelector('#draw[data-ready]');
}

async function ask(page, name) {
  const button = page.locator(`[data-strip="${name}"]`);
  if ((await button.getAttribute('aria-expanded')) !== 'true') await button.click();
}

async function add(page, name, length, width, east = 0, north = 0) {
  await ask(page, 'add');
  for (const [key, value] of [['name', name], ['length', length], ['width', width], ['east', east], ['north', north]]) {
    await fill(page, `new_${key}`, value);
  }
  await press(page, 'add-block');
}

async function keep(page) {
  await press(page, 'keep');
  await page.waitForFunction(() => /is kept \(|Nothing was kept/.test(document.querySelector('[data-draw="said"]').textContent));
  assert.match(await told(page), /The drawing is kept/);
}

/** A grey picture as PNG. */
function png(wide, high) {
  const table = Array.from({ length: 256 }, (_, n) => {
    let c = n;
    for (let k = 0; k < 8; k += 1) c = c & 1 ? 0xedb88320 ^ (c >>> 1) : c >>> 1;
    return c >>> 0;
  });
  const crc = (bytes) => (bytes.reduce((c, b) => table[(c ^ b) & 255] ^ (c >>> 8), 0xffffffff) ^ 0xffffffff) >>> 0;
  const part = (name, data) => {
    const body = Buffer.concat([Buffer.from(name, 'latin1'), data]);
    const [length, sum] = [Buffer.alloc(4), Buffer.alloc(4)];
    length.writeUInt32BE(data.length);
    sum.writeUInt32BE(crc(body));
    return Buffer.concat([length, body, sum]);
  };
  const head = Buffer.alloc(13);
  head.writeUInt32BE(wide, 0);
  head.writeUInt32BE(high, 4);
  head.set([8, 0, 0, 0, 0], 8);
  const rows = Buffer.alloc(high * (wide + 1), 200);
  for (let y = 0; y < high; y += 1) rows[y * (wide + 1)] = 0;
  return Buffer.concat([Buffer.from('\x89PNG\r\n\x1a\n', 'latin1'), part('IHDR', head), part('IDAT', deflateSync(rows)), part('IEND', Buffer.alloc(0))]);
}

const picture = (page) => page.evaluate(async () => (await (await fetch('/ground/draw/sheet')).json()).picture);

test('a photo is laid by places that are clicked, or typed, and a step back lays it as it was', async (t) => {
  const { at } = await freshFarm(t);
  const page = await openPage(t, browser, at);
  await page.goto('/ground/diagram');
  await page.setInputFiles('[name="picture"]', { name: 'from-above.png', mimeType: 'image/png', buffer: png(400, 300) });
  await page.fill('[name="width"]', '400');
  await page.click('text=Lay it under the sheet');
  await page.waitForSelector('#draw[data-ready]');
  const first = await picture(page);
  await ask(page, 'photo');
  // By keys alone: the photo’s upper corners lie 200 m apart, the second due south of the first.
  await page.selectOption('[name="draw_unit"]', 'm');
  for (const [key, value] of [['across1', 0], ['down1', 0], ['east1', 10], ['north1', 20], ['across2', 400], ['down2', 0], ['east2', 10], ['north2', -180]]) {
    await page.fill(`[name="photo_${key}"]`, String(value));
  }
  await page.focus('[data-draw="fit"]');
  await page.keyboard.press('Enter');
  await page.waitForFunction(() => /laid so/.test(document.querySelector('[data-draw="said"]').textContent));
  assert.match(await page.textContent('[data-draw="tally"]'), /1 thing is not kept/);
  await keep(page);
  const typed = await picture(page);
  assert.ok(Math.abs(typed.width - 200) < 1e-6 && Math.abs(typed.turned - 90) < 1e-6, JSON.stringify(typed));
  // Its middle: half its height (75 m) to the west of the line, half way down it.
  assert.ok(Math.abs(typed.middle[0] - (10 - 75)) < 1e-6 && Math.abs(typed.middle[1] + 80) < 1e-6, JSON.stringify(typed));
  // By clicks: what lies at two spots of the sheet goes 20 points to the right on the screen.
  await page.selectOption('[name="draw_unit"]', 'm');
  await ask(page, 'photo');
  const on = (x, y) => page.click('[data-draw="sheet"]', { position: { x, y } });
  for (const [n, [x, y]] of [[300, 150], [450, 300]].entries()) {
    await page.click(`[data-pick="photo-${n + 1}"]`);
    await on(x, y);
    await page.click(`[data-pick="sheet-${n + 1}"]`);
    await on(x + 20, y);
  }
  await shot(page, 'photo-places');
  await press(page, 'fit');
  await page.waitForFunction(() => /fits within/.test(document.querySelector('[data-draw="said"]').textContent));
  // A step back lays it as it was: nothing is left to keep. A step forward brings it again.
  await press(page, 'undo');
  assert.match(await page.textContent('[data-draw="tally"]'), /Everything is kept/);
  await press(page, 'redo');
  await keep(page);
  const clicked = await picture(page);
  assert.ok(Math.abs(clicked.width / typed.width - 1) < 0.01 && Math.abs(clicked.turned - typed.turned) < 1);
  assert.ok(clicked.middle[0] > typed.middle[0] + 0.5 && Math.abs(clicked.middle[1] - typed.middle[1]) < 2, JSON.stringify({ typed, clicked }));
  // By a measured distance between two of its places.
  for (const [key, value] of [['across1', 0], ['down1', 0], ['east1', ''], ['north1', ''], ['across2', 400], ['down2', 0], ['east2', ''], ['north2', '']]) {
    await page.fill(`[name="photo_${key}"]`, String(value));
  }
  await page.selectOption('[name="draw_unit"]', 'm');
  await page.fill('[name="photo_apart"]', '150');
  await press(page, 'fit');
  await page.waitForFunction(() => /1 thing is not kept/.test(document.querySelector('[data-draw="tally"]').textContent));
  await keep(page);
  assert.ok(Math.abs((await picture(page)).width - 150) < 1e-6);
  assert.ok(Math.abs(first.width - 121.92) < 1e-6);
  assert.deepEqual(page.complaints, []);
});

test('a stream has its width, and the strip beside it gets none', async (t) => {
  const { book, at } = await freshFarm(t);
  const page = await openPage(t, browser, at);
  await sheet(page);
  // 300 by 200 ft, its west side 100 ft east of the middle.
  await add(page, 'Creek Field', 300, 200, 200, 0);
  await press(page, 'whole');
  await ask(page, 'mark');
  await page.selectOption('[name="draw_kind"]', 'water');
  await fill(page, 'mark_width', 20);
  await page.click('[data-tool="line"]');
  await press(page, 'out');
  await page.locator('[data-draw="sheet"]').scrollIntoViewIfNeeded();
  const box = await page.locator('[data-draw="sheet"]').boundingBox();
  const x = box.x + box.width * 0.25;
  await page.mouse.click(x, box.y + 20);
  await page.waitForTimeout(300);
  await page.mouse.move(x, box.y + box.height - 20, { steps: 4 });
  await page.mouse.dblclick(x, box.y + box.height - 20);
  await page.waitForFunction(() => document.querySelector('[name="draw_across"]').value === '20');
  await fill(page, 'name', 'Mill Creek');
  await fill(page, 'across', 24);
  await press(page, 'set');
  await shot(page, 'stream-width');
  await keep(page);
  const mark = await page.evaluate(async () => (await (await fetch('/ground/draw/sheet')).json()).marks[0]);
  assert.equal(mark.name, 'Mill Creek');
  assert.ok(Math.abs(mark.width - 24 * 0.3048) < 1e-9);
  // Its own width is empty again: a step to either side.
  await page.goto('/ground/setbacks');
  assert.deepEqual(await faults(page), []);
  await page.fill('[name="feet-water-manure"]', '2000');
  await page.click('text=Keep the distances');
  assert.match(await page.textContent('main'), /Creek Field, manure: Keep 2,000 ft from Mill Creek: the whole block lies too near and gets none/);
  await page.fill('[name="feet-water-manure"]', '10');
  await page.check('[name="local-water-manure"]');
  await page.click('text=Keep the distances');
  assert.doesNotMatch(await page.textContent('main'), /manure: Keep/);
  await page.fill('[name="feet-water-manure"]', 'ten');
  await page.click('text=Keep the distances');
  assert.match(await page.textContent('[role="alert"]'), /“ten” is not a number/);
  await shot(page, 'setbacks');
  const all = JSON.parse(spadework('--json', 'setbacks', book));
  const manure = all.rules.find((r) => r.thing === 'water' && r.material === 'manure');
  assert.ok(Math.abs(manure.feet - 10) < 1e-9);
  await page.setViewportSize({ width: 360, height: 800 });
  await page.goto('/ground/setbacks');
  assert.equal(await overflow(page), null);
  await shot(page, 'setbacks-360');
  assert.deepEqual(page.complaints, []);
});

test('a farm on a plain grid gets its place on the earth, and areas stay', async (t) => {
  const { book, at } = await freshFarm(t);
  const page = await openPage(t, browser, at);
  await sheet(page);
  await add(page, 'North', 300, 200, 150, 40);
  await add(page, 'South', 120, 30, -80, -200);
  await keep(page);
  const before = outlines(book);
  await page.click('summary:has-text("Give the farm its place")');
  // The wrong way round, with letters and without.
  await page.fill('[name="latitude"]', '72 34 04.1 W');
  await page.fill('[name="longitude"]', '44.1234');
  await page.click('text=Put it there');
  assert.match(await page.textContent('[role="alert"]'), /were latitude and longitude exchanged/);
  await page.fill('[name="latitude"]', '-72.5678');
  await page.fill('[name="longitude"]', '44.1234');
  await page.click('text=Put it there');
  assert.match(await page.textContent('[role="alert"]'), /exchanged\? If it is right/);
  await page.fill('[name="latitude"]', '44°07′24.2″ N');
  await page.fill('[name="longitude"]', '72 34 04.1 W');
  await page.fill('[name="turned"]', '20');
  await shot(page, 'place');
  await page.click('text=Put it there');
  await page.waitForSelector('text=The farm has its place on the earth');
  assert.match(await page.textContent('.lede'), /on real coordinates/);
  const after = outlines(book);
  for (const was of before) {
    const is = after.find((o) => o.block === was.block);
    assert.ok(Math.abs(is.gross_ft2 / was.gross_ft2 - 1) < 0.001, `${was.block}: ${is.gross_ft2}`);
  }
  const file = JSON.parse(await page.evaluate(async () => (await fetch('/ground/outlines.geojson')).text()));
  const [lon, lat] = file.features[0].geometry.coordinates[0][0][0];
  assert.ok(Math.abs(lat - 44.1234) < 0.01 && Math.abs(lon + 72.5678) < 0.01, `${lat} ${lon}`);
  assert.deepEqual(page.complaints, []);
});

test('blocks are joined on the sheet', async (t) => {
  const { book, at } = await freshFarm(t);
  const page = await openPage(t, browser, at);
  await sheet(page);
  await add(page, 'East', 100, 50, 25, 0);
  await add(page, 'West', 100, 50, -25, 0);
  await keep(page);
  await page.selectOption('[data-draw="list"]', { label: 'East' });
  await ask(page, 'join');
  await page.selectOption('[name="draw_join_with"]', { label: 'West' });
  await fill(page, 'join_name', 'Whole');
  await press(page, 'join-blocks');
  await page.waitForFunction(() => /They are|Nothing was changed/.test(document.querySelector('[data-draw="said"]').textContent));
  const all = outlines(book);
  assert.deepEqual(all.map((o) => o.block), ['Whole']);
  assert.ok(Math.abs(all[0].gross_ft2 - 10_000) < 0.01);
  assert.deepEqual(page.complaints, []);
});

for (const width of [1280, 360]) {
  test(`every tool is within reach and the forms of a block serve, ${width} px wide`, async (t) => {
    const { at } = await freshFarm(t);
    const page = await openPage(t, browser, at, { viewport: { width, height: 800 } });
    await sheet(page);
    for (let n = 1; n <= 6; n += 1) await add(page, `Block ${n}`, 200, 60, n * 70, 0);
    await press(page, 'whole');
    await keep(page);
    await page.reload();
    await page.waitForSelector('#draw[data-ready]');
    assert.equal(await overflow(page), null);
    assert.deepEqual(await faults(page), []);
    // With each tool’s fields open, the tools and half of the sheet are on one screen.
    for (const name of ['add', 'cut', 'join', 'mark']) {
      await ask(page, name);
      await page.locator('.tools').evaluate((e) => e.scrollIntoView());
      const [top, box] = await Promise.all([page.locator('.tools').boundingBox(), page.locator('[data-draw="sheet"]').boundingBox()]);
      assert.ok(top.y >= -1 && box.y + box.height / 2 < 800, `${name}: the sheet begins at ${box.y}`);
      assert.equal(await overflow(page), null);
      await shot(page, `draw-${name}-${width}`);
    }
    // The page’s own face is what the sheet is lettered in.
    const [sheetFont, pageFont, loaded] = await page.evaluate(() => {
      const lettering = document.querySelector('#draw').dataset.lettering;
      const all = [...document.fonts].filter((f) => f.status === 'loaded').map((f) => f.family.replaceAll('"', ''));
      return [lettering, getComputedStyle(document.querySelector('#draw button')).fontFamily, all];
    });
    const first = (families) => families.split(',')[0].replaceAll('"', '').trim();
    assert.equal(first(sheetFont.replace('600 13px ', '')), first(pageFont));
    assert.ok(loaded.includes(first(pageFont)), `${pageFont}: ${loaded}`);
    // Found by its name.
    await fill(page, 'find', 'block 4');
    assert.equal(await page.inputValue('[name="draw_name"]'), 'Block 4');
    await page.click('tr:has-text("Block 2") >> text=Beds, spots, split');
    assert.equal(await overflow(page), null);
    assert.deepEqual(await faults(page), []);
    await page.fill('[name="bearing"]', '12');
    await page.click('form[action$="/beds"] button');
    assert.equal(await page.inputValue('[name="bearing"]'), '12');
    await page.fill('[name="bearing"]', 'north');
    await page.click('form[action$="/beds"] button');
    assert.match(await page.textContent('[role="alert"]'), /“north” is not a number/);
    await page.fill('[name="east"]', '140');
    await page.fill('[name="north"]', '10');
    await page.fill('[name="radius"]', '8');
    await page.click('text=Keep the spots');
    assert.match(await page.textContent('form[action$="/spots"]'), /140 ft east and 10 ft north of the sheet’s middle, 8 ft around/);
    await page.uncheck('[name="keep-0"]');
    await page.click('text=Keep the spots');
    assert.doesNotMatch(await page.textContent('form[action$="/spots"]'), /8 ft around/);
    await shot(page, `parcel-${width}`);
    assert.deepEqual(page.complaints, []);
  });
}
