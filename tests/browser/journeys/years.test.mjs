// The farm now and the years: what a second report brings, on screen, on a phone and on paper.
import { after, before, test } from 'node:test';
import assert from 'node:assert/strict';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { ROOT, faults, folder, freshFarm, openBrowser, openPage, overflow, pdf, send, spadework, unfold } from '../lib.mjs';

let browser;
before(async () => (browser = await openBrowser()));
after(() => browser.close());

/** The demo's report with pH moved, as another year's. */
function report(to, name, moved) {
  const lines = readFileSync(join(ROOT, 'demo/soil_report.csv'), 'utf8').split('\n');
  const out = lines.map((line, at) => {
    const cells = line.split(',');
    if (at < 4 || cells.length < 5) return line;
    cells[2] = (Number(cells[2]) + moved).toFixed(1);
    return cells.join(',');
  });
  const path = join(to, name);
  writeFileSync(path, out.join('\n'));
  return path;
}

test('two reports and the years between them', async (t) => {
  const { book, at } = await freshFarm(t, { ground: join(ROOT, 'demo/ground.csv') });
  const page = await openPage(t, browser, at);
  await page.goto('/');
  assert.match(page.url(), /\/now$/, 'a farm with ground is met by what needs attention');
  await page.getByRole('heading', { name: 'No soil test yet' }).waitFor();

  const files = folder(t);
  spadework('import', book, report(files, 'a.csv', -0.8), '--sampled', '2024-10-12', '--match', 'Tunnel one=Tunnel 1');
  spadework('import', book, report(files, 'b.csv', 0), '--sampled', '2026-10-12', '--match', 'Tunnel one=Tunnel 1');
  await page.goto('/now');
  assert.equal(await page.getByRole('heading', { name: 'No soil test yet' }).count(), 0);
  await page.getByRole('heading', { name: 'Lime comes before anything else' }).waitFor();
  assert.deepEqual(await faults(page), []);
  await page.getByRole('link', { name: 'phosphorus', exact: true }).click();
  await page.getByRole('heading', { name: 'The farm by phosphorus' }).waitFor();

  await page.getByRole('link', { name: 'Years', exact: true }).click();
  await page.getByRole('link', { name: 'Barn Field' }).click();
  assert.match(await page.locator('main').innerText(), /rose by 0\.8: more than the noise/);
  const chart = page.getByRole('img', { name: /^pH through the years: 2024-10-12 5\.2, 2026-10-12 6/ });
  await chart.waitFor();
  await unfold(page);
  assert.deepEqual(await faults(page), []);
  await page.setViewportSize({ width: 360, height: 740 });
  assert.equal(await overflow(page), null);

  const href = await page.getByRole('link', { name: 'As a PDF' }).getAttribute('href');
  const printed = pdf((await send(at, 'GET', href)).bytes);
  assert.match(printed.text, /rose by 0\.8/);
  assert.deepEqual(page.complaints, []);
});
