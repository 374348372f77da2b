// Every page of the demo: bones, narrow screens, accessibility rules, keyboard.
import { after, before, test } from 'node:test';
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { demoFarm, faults, file, freshFarm, kinds, openBrowser, openPage, overflow, unfold } from '../lib.mjs';

const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

let browser;
before(async () => (browser = await openBrowser()));
after(() => browser.close());

/** The demo with its plan and one report that waits to be read. */
async function wholeDemo(t) {
  const { at } = await demoFarm(t);
  const page = await openPage(t, browser, at);
  await page.goto('/lab');
  await page.getByLabel('The lab’s file').setInputFiles(file('county_lab_2026.csv'));
  await page.getByRole('button', { name: 'Load it' }).click();
  return { at, page, all: kinds(new URL(page.url()).pathname) };
}

test('every page that a link leads to is whole, and fits a 360 px screen', async (t) => {
  const { page } = await wholeDemo(t);
  await page.setViewportSize({ width: 360, height: 740 });
  const seen = new Set(['/']);
  const wrong = [];
  for (const path of seen) {
    const answer = await page.goto(path);
    if (answer.status() !== 200) wrong.push(`${path}: status ${answer.status()}`);
    const links = await page.locator('a[href^="/"]').evaluateAll((all) => all.map((a) => a.getAttribute('href')));
    for (const link of links) if (!/\.(pdf|ics|gpx|csv|xlsx|zip|geojson|crt)|\/file$|\/results\/|\/stock\/paper\/|\/phones\/certificate/.test(link)) seen.add(link);
    const tight = await overflow(page);
    if (tight) wrong.push(`${path}: ${tight}`);
    if ((await page.locator('details').count()) > 0) {
      await unfold(page);
      const open = await overflow(page);
      if (open) wrong.push(`${path}, unfolded: ${open}`);
    }
    wrong.push(...(await faults(page)).map((f) => `${path}: ${f}`));
  }
  assert.deepEqual(wrong, []);
  // 14 blocks in four places, every material, the steps of the year.
  assert.ok(seen.size > 14 * 4 + 60, `only ${seen.size} pages were reached`);
  assert.deepEqual(page.complaints, []);
});

test('no page breaks a WCAG A or AA rule that can be checked by program', async (t) => {
  const { page, all } = await wholeDemo(t);
  const wrong = [];
  let rules = 0;
  for (const width of [1280, 360]) {
    await page.setViewportSize({ width, height: 800 });
    for (const [name, path] of all) {
      await page.goto(path);
      await unfold(page);
      await page.evaluate(AXE);
      const result = await page.evaluate(() =>
        window.axe.run(document, {
          runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'],
          resultTypes: ['violations'],
        }),
      );
      rules += result.passes.length;
      for (const v of result.violations) {
        wrong.push(`${name} at ${width} px: ${v.id}, ${v.help}: ${v.nodes.length} × ${v.nodes[0].html.slice(0, 120)} (${v.nodes[0].any.concat(v.nodes[0].all)[0]?.message ?? ''})`);
      }
    }
  }
  assert.deepEqual(wrong, []);
  assert.ok(rules > 5 * all.length, 'the rules were applied');
});

test('the Tab key reaches every control in the order of the page, and it can be seen where it is', async (t) => {
  const { page, all } = await wholeDemo(t);
  for (const [name, path] of all.filter(([name]) => name !== 'materials')) {
    await page.goto(path);
    // What of the drawing can be pressed is known once its map is there.
    if (name === 'draw') await page.waitForLoadState('networkidle');
    const wanted = await page.evaluate(() => {
      const list = [...document.querySelectorAll('a[href], button, input:not([type=hidden]), select, textarea, summary')].filter(
        (e) => e.checkVisibility() && !e.disabled && !(e.type === 'radio' && !e.checked),
      );
      list.forEach((e, i) => e.setAttribute('data-stop', String(i)));
      return list.length;
    });
    const reached = [];
    const unseen = [];
    for (let presses = 0; reached.length < wanted && presses < wanted * 2 + 20; presses++) {
      await page.keyboard.press('Tab');
      const here = await page.evaluate(() => {
        const e = document.activeElement;
        const look = getComputedStyle(e);
        const box = e.getBoundingClientRect();
        return {
          stop: e.getAttribute('data-stop'),
          ring: look.outlineStyle !== 'none' && parseFloat(look.outlineWidth) >= 2,
          inside: box.right > 0 && box.bottom > 0 && box.left < innerWidth && box.top < innerHeight,
          html: e.outerHTML.slice(0, 80),
        };
      });
      if (here.stop === null) continue; // a table that scrolls may be a stop too
      // A date is one control with a stop for each of its parts, which the browser itself marks.
      if (reached.at(-1) === Number(here.stop)) continue;
      if (!here.ring || !here.inside) unseen.push(here.html);
      reached.push(Number(here.stop));
    }
    assert.deepEqual(reached, Array.from({ length: wanted }, (_, i) => i), `${name}: order`);
    assert.deepEqual(unseen, [], `${name}: the place of the keyboard cannot be seen`);
  }
});

test('a block is added with the keyboard alone', async (t) => {
  const { at } = await freshFarm(t);
  const page = await openPage(t, browser, at);
  await page.goto('/');
  const focused = () => page.evaluate(() => document.activeElement.getAttribute('name') ?? document.activeElement.textContent.trim());
  const tabTo = async (wanted) => {
    for (let i = 0; i < 60; i++) {
      if ((await focused()) === wanted) return;
      await page.keyboard.press('Tab');
    }
    assert.fail(`the Tab key never came to ${wanted}`);
  };
  // Past the head of the page, straight to what it is about.
  await page.keyboard.press('Tab');
  assert.equal(await focused(), 'To the content');
  await page.keyboard.press('Enter');
  await page.keyboard.press('Tab');
  assert.equal(await focused(), 'Add the first block');
  await page.keyboard.press('Enter');
  await page.waitForURL('**/ground/new');
  await tabTo('name');
  await page.keyboard.type('Quince Corner');
  await tabTo('shape');
  await page.keyboard.press('ArrowUp');
  await page.keyboard.press('ArrowDown');
  await tabTo('length');
  await page.keyboard.type('60');
  await tabTo('width');
  await page.keyboard.type('50');
  await tabTo('crop');
  await page.keyboard.type('Carrot');
  await tabTo('Keep');
  await page.keyboard.press('Enter');
  await page.getByText('The block is kept.').waitFor();
  assert.match(await page.locator('tbody tr').innerText(), /Quince Corner[\s\S]*3,000 ft²[\s\S]*Carrot/);
});

test('a page prints: what is needed on paper stays, buttons that do nothing there go', async (t) => {
  const { page } = await wholeDemo(t);
  await page.emulateMedia({ media: 'print' });
  for (const path of ['/reading/2', '/plan', '/order', '/jobs/4']) {
    await page.goto(path);
    assert.equal(await page.locator('h1').isVisible(), true, path);
    for (const button of await page.locator('button').all()) assert.equal(await button.isVisible(), false, `${path}: a button on paper`);
    assert.equal(await page.locator('nav').isVisible(), false, `${path}: the way round the pages on paper`);
  }
});

test('the letter, the tables side by side and the weeks of nitrogen are one click from a block', async (t) => {
  const { page } = await wholeDemo(t);
  await page.goto('/reading/2');
  const letter = page.locator('.matter');
  assert.equal(await letter.first().locator('h2').innerText(), 'pH');
  assert.match(await page.locator('.matter').filter({ hasText: 'Phosphorus' }).first().innerText(), /% likely/, 'how sure the class is');
  const source = letter.locator('details.src').first();
  assert.equal(await source.locator('span').isVisible(), false);
  await source.locator('summary').click();
  assert.equal(await source.locator('span').isVisible(), true, 'a source is one click away');
  await page.getByRole('link', { name: 'What other tables would say' }).click();
  assert.match(await page.locator('h1').innerText(), /Side by side/);
  assert.ok((await page.locator('table.rows').first().locator('tbody tr').count()) >= 3, 'several tables read one value');
  assert.match(await page.locator('main').innerText(), /Lime to pH/);
  await page.goto('/plan/2');
  assert.match(await page.locator('main').innerText(), /Nitrogen week by week/);
  assert.ok((await page.locator('svg polyline').count()) >= 2);
  assert.deepEqual(page.complaints, []);
});
