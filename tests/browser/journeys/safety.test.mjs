// What another site, another name for this computer, or a hostile request may not do.
import { after, before, test } from 'node:test';
import assert from 'node:assert/strict';
import { connect } from 'node:net';
import { demoFarm, form, freshFarm, kinds, openBrowser, openPage, send, words } from '../lib.mjs';

let browser;
before(async () => (browser = await openBrowser()));
after(() => browser.close());

const BLOCK = { name: 'Planted', shape: 'rectangle', length: '10', width: '10', depth: '6.667' };

test('a form from elsewhere is refused and changes nothing', async (t) => {
  const { at } = await freshFarm(t);
  const changes = async () => (await send(at, 'GET', '/changes')).text;
  const before = await changes();
  const { headers, body } = form(BLOCK);
  for (const more of [
    { origin: 'http://evil.example' },
    { origin: 'null' },
    { origin: at.replace('127.0.0.1', 'localhost') },
    { origin: at.replace(/:\d+$/, ':1') },
    { origin: at.replace('http:', 'https:') },
    { 'sec-fetch-site': 'cross-site' },
    { 'sec-fetch-site': 'same-site' },
    { 'sec-fetch-site': 'cross-site', origin: at },
  ]) {
    for (const path of ['/ground', '/farm', '/materials/usual', '/plan', '/changes/undo', '/lab']) {
      const answer = await send(at, 'POST', path, { headers: { ...headers, ...more }, body });
      assert.equal(answer.status, 403, `${path} with ${JSON.stringify(more)}`);
      assert.match(answer.text, /^[A-Z].+\.$/, 'a sentence');
    }
  }
  assert.equal(await changes(), before);
  // The same form from here is taken, so the refusals above were for where it came from.
  const own = await send(at, 'POST', '/ground', { headers: { ...headers, origin: at, 'sec-fetch-site': 'same-origin' }, body });
  assert.equal(own.status, 303);
  assert.notEqual(await changes(), before);
});

test('a page of another site cannot post in a real browser', async (t) => {
  const { at } = await freshFarm(t);
  const page = await openPage(t, browser, at);
  const inputs = Object.entries(BLOCK).map(([k, v]) => `<input name="${k}" value="${v}">`).join('');
  await page.route('http://evil.example/', (route) =>
    route.fulfill({ contentType: 'text/html', body: `<form method="post" action="${at}/ground">${inputs}<button>win</button></form>` }),
  );
  await page.goto('http://evil.example/');
  const [answer] = await Promise.all([
    page.waitForResponse((r) => r.url() === `${at}/ground`, { timeout: 10_000 }).catch(() => null),
    page.getByRole('button').click(),
  ]);
  // Either the browser itself holds the request back or the program refuses it.
  if (answer) assert.equal(answer.status(), 403);
  assert.doesNotMatch((await send(at, 'GET', '/ground')).text, /Planted/);
});

test('another name for this computer does not open the book', async (t) => {
  const { at } = await demoFarm(t, { planned: false });
  const port = new URL(at).port;
  for (const host of ['evil.example', `evil.example:${port}`, `localhost.evil.example:${port}`, `127.0.0.1.evil.example`, '0.0.0.0', `192.168.1.5:${port}`]) {
    const answer = await send(at, 'GET', '/ground', { headers: { host } });
    assert.ok([400, 403].includes(answer.status), `${host}: ${answer.status}`);
    assert.doesNotMatch(answer.text, /Creek Field/);
  }
  for (const host of [`localhost:${port}`, `127.0.0.1:${port}`, `[::1]:${port}`]) {
    assert.equal((await send(at, 'GET', '/ground', { headers: { host } })).status, 200, host);
  }
  const nameless = await new Promise((done, failed) => {
    const parts = [];
    connect(Number(port), '127.0.0.1', function () {
      this.write('GET /ground HTTP/1.0\r\n\r\n');
    })
      .on('data', (p) => parts.push(p))
      .on('end', () => done(Buffer.concat(parts).toString()))
      .on('error', failed);
  });
  assert.match(nameless, /^HTTP\/1\.[01] 403 /, 'a request that names no host');
});

test('every answer carries a strict content policy', async (t) => {
  const { at } = await demoFarm(t);
  const paths = [...kinds().map(([, path]) => path), '/order.pdf', '/lab/1/file', '/static/look.css', '/static/none'];
  for (const path of paths) {
    const { headers } = await send(at, 'GET', path);
    const policy = Object.fromEntries(
      (headers['content-security-policy'] ?? '').split(';').map((part) => part.trim().split(/ (.*)/s).slice(0, 2)),
    );
    assert.equal(policy['default-src'], "'none'", path);
    assert.equal(policy['frame-ancestors'], "'none'", path);
    assert.equal(policy['base-uri'], "'none'", path);
    assert.equal(policy['form-action'], "'self'", path);
    for (const [name, value] of Object.entries(policy)) {
      assert.match(value, /^'(none|self)'$/, `${path}: ${name} lets in ${value}`);
    }
    assert.equal(headers['x-content-type-options'], 'nosniff', path);
    if (!path.startsWith('/static/')) assert.equal(headers['cache-control'], 'no-store', path);
  }
});

test('a body over its limit is refused with a sentence', async (t) => {
  const { at } = await freshFarm(t);
  const big = await send(at, 'POST', '/ground', form({ ...BLOCK, note: 'x'.repeat(300 * 1024) }));
  assert.equal(big.status, 413);
  assert.match(words(big.text), /[A-Z][a-z ,;]+\./, `a sentence, not: ${words(big.text)}`);
  assert.match(big.headers['content-type'], /text\/html/, 'on a page of the program');

  const head = '--x\r\nContent-Disposition: form-data; name="file"; filename="huge.csv"\r\nContent-Type: text/csv\r\n\r\n';
  const huge = await send(at, 'POST', '/lab', {
    headers: { 'content-type': 'multipart/form-data; boundary=x' },
    body: `${head}${'1,2,3,4\n'.repeat(21 * 128 * 1024)}\r\n--x--\r\n`,
  });
  assert.ok([413, 422].includes(huge.status), String(huge.status));
  assert.match(words(huge.text), /larger than 20 MB/);
  assert.match((await send(at, 'GET', '/lab')).text, /Load the file that your lab sent/, 'nothing was kept');
  assert.doesNotMatch((await send(at, 'GET', '/ground')).text, /Planted/);
});

test('the static files are those of the program and no others', async (t) => {
  const { at } = await freshFarm(t);
  assert.equal((await send(at, 'GET', '/static/look.css')).status, 200);
  for (const path of [
    '/static/../Cargo.toml',
    '/static/..%2f..%2fetc%2fpasswd',
    '/static/%2e%2e/%2e%2e/etc/passwd',
    '/static/..%5c..%5cetc',
    '/static//etc/passwd',
    '/static/look.css%00.svg',
    '/static/',
  ]) {
    const answer = await send(at, 'GET', path);
    assert.ok(answer.status >= 400 && answer.status < 500, `${path}: ${answer.status}`);
    assert.doesNotMatch(answer.text, /root:|\[workspace\]/);
  }
});

test('what a person or a lab wrote is shown as text, never run', async (t) => {
  const { at } = await freshFarm(t);
  const page = await openPage(t, browser, at);
  const nasty = `<script>document.title='run'</script><img src=x onerror="document.title='run'">"'`;
  await page.goto('/ground/new');
  await page.getByLabel('Name', { exact: true }).fill(nasty.slice(0, 80));
  await page.getByLabel('Length ft', { exact: true }).fill('10');
  await page.getByLabel('Width ft', { exact: true }).fill('10');
  await page.getByLabel('Note').fill(nasty);
  await page.getByRole('button', { name: 'Keep', exact: true }).click();
  for (const path of ['/ground', '/ground/1', '/reading/1', '/changes', '/plan/1', '/plan', '/materials/sulfur']) {
    await page.goto(path);
    assert.match(await page.content(), /&lt;script&gt;/, path);
    assert.equal(await page.locator('script, img').count(), 0, path);
    assert.notEqual(await page.title(), 'run', path);
  }
  await page.goto('/lab');
  await page.getByLabel('The lab’s file').setInputFiles({
    name: `"><script>1</script>.csv`,
    mimeType: 'text/csv',
    buffer: Buffer.from('Extraction: Mehlich-3\nSample,pH,P (ppm),<script>alert(1)</script>\n<img src=x onerror=alert(1)>,6.5,40,7\n'),
  });
  await page.getByRole('button', { name: 'Load it' }).click();
  assert.equal(await page.locator('script, img').count(), 0);
  assert.match(await page.content(), /&lt;img/);
  assert.deepEqual(page.complaints, []);
});
