// Outlines come in from a file of every form; a photo lies under the sheet; the map prints to scale.
import test from 'node:test';
import assert from 'node:assert/strict';
import { file, freshFarm, openBrowser, openPage, picture, send, shot, spadework } from '../lib.mjs';
import { geojson, gpx, kml, kmz, shapefile } from '../outline_files.mjs';

const browser = await openBrowser();
test.after(() => browser.close());

// At sea, as everything invented here.
const field = (east) => [
  [-73.6 + east, 39.9],
  [-73.599 + east, 39.9],
  [-73.599 + east, 39.9008],
  [-73.6 + east, 39.9008],
];
const blocks = [
  ['North Field', field(0)],
  ['South Field', field(0.0015)],
];

for (const [name, write] of [
  ['farm.geojson', geojson],
  ['farm.kml', kml],
  ['farm.kmz', kmz],
  ['farm.gpx', gpx],
  ['farm.zip', shapefile],
]) {
  test(`${name} is looked at, and kept without choosing it again`, async (t) => {
    const { book, at } = await freshFarm(t);
    const page = await openPage(t, browser, at);
    await page.goto('/ground/diagram');
    await page.setInputFiles('#file', { name, mimeType: 'application/octet-stream', buffer: Buffer.from(write(blocks)) });
    await page.click('summary:has-text("If something does not fit")');
    await page.check('[name="add"]');
    await page.click('button:has-text("Look at it first")');
    assert.match(await page.textContent('main'), /Nothing is kept yet/);
    assert.match(await page.textContent('main'), /a new block/);
    await page.click('button:has-text("Keep the outlines")');
    assert.match(await page.textContent('.said'), /The outlines are kept/);
    const all = JSON.parse(spadework('--json', 'outlines', book));
    assert.deepEqual(all.map((o) => o.block), ['North Field', 'South Field']);
    // 0.001 by 0.0008 degrees at 39.9 north: 85.5 by 88.8 m.
    for (const o of all) assert.ok(Math.abs(o.gross_ft2 / 81_750 - 1) < 0.01, String(o.gross_ft2));
    assert.deepEqual(page.complaints, []);
  });
}

test('a photo lies under the sheet and can be taken away', async (t) => {
  const { at } = await freshFarm(t);
  const page = await openPage(t, browser, at);
  await page.goto('/ground/diagram');
  await page.setInputFiles('#picture', file('picture.png'));
  await page.fill('[name="width"]', '300');
  await page.click('text=Lay it under the sheet');
  await page.waitForSelector('#draw[data-ready]');
  const kept = await send(at, 'GET', '/ground/picture');
  assert.equal(kept.headers['content-type'], 'image/png');
  await shot(page, 'draw-photo');
  await page.goto('/ground/diagram');
  assert.match(await page.textContent('main'), /300 ft wide/);
  await page.click('text=Take it away');
  assert.equal((await send(at, 'GET', '/ground/picture')).status, 404);
  // What is no picture is refused with a sentence.
  await page.goto('/ground/diagram');
  await page.setInputFiles('#picture', file('good.csv'));
  await page.fill('[name="width"]', '300');
  await page.click('text=Lay it under the sheet');
  assert.match(await page.textContent('.wrong'), /choose a PNG or JPEG/);
  assert.deepEqual(page.complaints, []);
});

test('the sheet fits a phone, and without script there is a form and a list', async (t) => {
  const { at } = await freshFarm(t);
  const phone = await openPage(t, browser, at, { viewport: { width: 360, height: 740 } });
  await phone.goto('/ground/draw');
  await phone.waitForSelector('#draw[data-ready]');
  await shot(phone, 'draw-360');
  const plain = await openPage(t, browser, at, { javaScriptEnabled: false });
  await plain.goto('/ground/draw');
  assert.equal(await plain.isVisible('#draw'), false);
  await plain.click('summary:has-text("Without drawing")');
  await plain.fill('form[action="/ground/draw"] [name="name"]', 'Creek');
  await plain.fill('form[action="/ground/draw"] [name="length"]', '100');
  await plain.fill('form[action="/ground/draw"] [name="width"]', '50');
  await plain.click('text=Put it on the map');
  assert.match(await plain.textContent('table'), /Creek\s*5,000/);
  await picture(plain, 'draw-plain');
  const map = await send(at, 'GET', '/ground/map.pdf');
  assert.equal(map.status, 200);
  assert.match(JSON.stringify(phone.complaints), /^\[\]$/);
});
