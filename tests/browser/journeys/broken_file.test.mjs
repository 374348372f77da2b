// Files that do not fit: one sentence, and the book stays as it was.
import { after, before, test } from 'node:test';
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { file, freshFarm, openBrowser, openPage, send, words } from '../lib.mjs';

let browser;
before(async () => (browser = await openBrowser()));
after(() => browser.close());

async function load(page, path) {
  await page.goto('/lab');
  await page.getByLabel('The lab’s file').setInputFiles(path);
  await page.getByRole('button', { name: 'Load it' }).click();
}

async function nothingRead(page) {
  await page.goto('/reading');
  assert.match(await page.locator('p.lede').innerText(), /No soil test is matched/);
  await page.goto('/ground');
  assert.doesNotMatch(await page.locator('table').innerText(), /matched/);
}

const farm = async (t) => {
  const { at } = await freshFarm(t, { ground: file('ground.csv') });
  return { at, page: await openPage(t, browser, at) };
};

test('a cell that is no number is named by file, row and column', async (t) => {
  const { page } = await farm(t);
  await load(page, file('bad_cell.csv'));
  await page.getByRole('button', { name: 'Read the file' }).click();
  const said = await page.getByRole('alert').innerText();
  assert.match(said, /Nothing was read/);
  const sentences = await page.getByRole('alert').locator('li').allInnerTexts();
  assert.equal(sentences.length, 1, said);
  assert.match(sentences[0], /^bad_cell\.csv, row 4, column “pH”: found “abc”, expected .+\.$/);
  await page.goto('/lab');
  assert.match(await page.locator('table').innerText(), /bad_cell\.csv[\s\S]*waits to be read/);
  await nothingRead(page);
  // The good rows of the bad file are in the book neither now nor after another file was read.
  await load(page, file('good.csv'));
  await page.getByRole('button', { name: 'Read the file' }).click();
  assert.match(await page.locator('p.lede').innerText(), /3 samples were read/);
  assert.deepEqual(page.complaints, []);
});

for (const [name, says] of [
  ['picture.png', /picture\.png: found .+, expected .+/],
  ['empty.csv', /empty\.csv: found nothing, expected a header and at least one sample/],
]) {
  test(`${name} is refused and not kept`, async (t) => {
    const { page } = await farm(t);
    await load(page, file(name));
    assert.match(await page.getByRole('alert').innerText(), says);
    await page.goto('/lab');
    assert.equal(await page.locator('table').count(), 0, 'no file is listed');
    await page.goto('/changes');
    assert.doesNotMatch(await page.locator('main').innerText(), new RegExp(name));
    await nothingRead(page);
  });
}

test('the same file twice is taken once', async (t) => {
  const { page } = await farm(t);
  await load(page, file('good.csv'));
  await load(page, file('good.csv'));
  assert.match(page.url(), /\/lab\/1$/, 'a file that waits is opened, not kept again');
  await page.getByRole('button', { name: 'Read the file' }).click();
  await load(page, file('good.csv'));
  assert.match(await page.getByRole('alert').innerText(), /good\.csv is in the book already: it was read as/);
  await page.goto('/lab');
  assert.equal(await page.locator('tbody tr').count(), 1);
});

test('sending without a file says so', async (t) => {
  const { at } = await farm(t);
  const body =
    '--x\r\nContent-Disposition: form-data; name="file"; filename=""\r\nContent-Type: application/octet-stream\r\n\r\n\r\n--x--\r\n';
  const answer = await send(at, 'POST', '/lab', { headers: { 'content-type': 'multipart/form-data; boundary=x' }, body });
  assert.equal(answer.status, 422);
  assert.match(words(answer.text), /No file was chosen/);
});

test('what the lab sent comes back byte for byte, as a download', async (t) => {
  const { at, page } = await farm(t);
  await load(page, file('good.csv'));
  const answer = await send(at, 'GET', '/lab/1/file');
  assert.deepEqual(answer.bytes, readFileSync(file('good.csv')));
  assert.match(answer.headers['content-disposition'], /^attachment; filename="good\.csv"$/);
});
