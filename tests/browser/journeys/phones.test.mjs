// A phone of the farm's network: shut out until the grower lets it in, then over TLS with a password, and
// without a signal once it trusts the farm's certificate.
import test from 'node:test';
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import net from 'node:net';
import { faults, folder, form, openBrowser, openPage, picture, send, shot, spadework, start } from '../lib.mjs';

const PASSWORD = 'clay over gravel';
const PHONE = { viewport: { width: 360, height: 740 } };
const entries = (book) => JSON.parse(spadework('--json', 'log', book));

/** A port that nothing else has just now: the phones' stays the same when the signal comes back. */
const freePort = () =>
  new Promise((done) => {
    const held = net.createServer().listen(0, '127.0.0.1', () => {
      const { port } = held.address();
      held.close(() => done(port));
    });
  });

async function farm(t) {
  const book = join(folder(t), 'farm.book');
  spadework('new', book, '--name', 'Plover Bank', '--season', '2027', '--region', 'New Jersey', '--organic');
  const said = await start(t, ['serve', book, '--network-port', `${await freePort()}`]);
  return { book, at: said.address.replace(/\/$/, '') };
}

/** What a program that is no browser hears when it speaks plain HTTP to the port of phones. */
const plain = (port, text) =>
  new Promise((done, failed) => {
    const line = net.connect(port, '127.0.0.1', () => line.write(text));
    let heard = '';
    line.on('data', (d) => (heard += d));
    line.on('close', () => done(heard));
    line.on('error', failed);
  });

async function letIn(page, at) {
  await page.goto('/phones');
  await page.getByLabel('Password for phones').fill(PASSWORD);
  await page.getByLabel('The same again').fill(`${PASSWORD}!`);
  await page.getByRole('button', { name: 'Set the password' }).click();
  await page.getByText('The two passwords differ').waitFor();
  await page.getByLabel('Password for phones').fill(PASSWORD);
  await page.getByLabel('The same again').fill(PASSWORD);
  await page.getByRole('button', { name: 'Set the password' }).click();
  await page.getByText('The password is set.').waitFor();
  assert.match((await send(at, 'GET', '/phones')).text, /Let phones in/);
  await page.getByRole('button', { name: 'Let phones in' }).click();
  await page.getByText('Phones on this network are let in.').waitFor();
  const port = await page.locator('[data-port]').getAttribute('data-port');
  assert.match(port, /^\d+$/);
  return Number(port);
}

async function comeIn(phone, name) {
  await phone.getByLabel('Your name').fill(name);
  await phone.getByLabel('Password').fill(PASSWORD);
  await phone.getByRole('button', { name: 'Come in' }).click();
}

test('a phone comes in with the password and is shut out again', async (t) => {
  const browser = await openBrowser();
  t.after(() => browser.close());
  const { book, at } = await farm(t);
  const laptop = await openPage(t, browser, at);
  const port = await letIn(laptop, at);
  await shot(laptop, 'phones-open');
  const far = `https://127.0.0.1:${port}`;

  // Whoever types the address without https is sent there; nothing is told in plain words.
  const told = await plain(port, `GET /log HTTP/1.1\r\nhost: 127.0.0.1:${port}\r\n\r\n`);
  assert.match(told, /^HTTP\/1\.1 307 /);
  assert.ok(told.includes(`location: ${far}/`), told);

  const phone = await openPage(t, browser, far, { ...PHONE, ignoreHTTPSErrors: true });
  await phone.goto('/log?done=kept');
  assert.equal(new URL(phone.url()).pathname, '/sign-in');
  assert.deepEqual(await faults(phone), []);
  await shot(phone, 'phones-come-in-360');
  assert.ok(!(await phone.content()).includes('Plover Bank'), 'a stranger is not told whose farm it is');
  await phone.getByLabel('Your name').fill('Ana');
  await phone.getByLabel('Password').fill('gravel over clay');
  await phone.getByRole('button', { name: 'Come in' }).click();
  await phone.getByText('That is not the password.').waitFor();
  await comeIn(phone, 'Ana');
  await phone.getByText('Written down.').waitFor();
  await phone.getByText('cannot open it anew without a signal').waitFor();
  assert.equal(new URL(phone.url()).pathname, '/log');

  // What a phone changes is noted under its name, and only the computer itself lets others in.
  await phone.goto('/suppliers');
  await phone.getByLabel('Name').fill('Hollow Mill');
  await phone.getByRole('button', { name: 'Keep' }).click();
  await phone.getByText('The supplier is kept.').waitFor();
  await laptop.goto('/changes');
  assert.match(await laptop.locator('tbody tr').first().innerText(), /Ana/);
  await phone.goto('/phones');
  await phone.getByText('Let in as Ana').waitFor();
  await shot(phone, 'phones-this-phone-360');
  const tried = await phone.evaluate(async () => (await fetch('/phones/close', { method: 'POST' })).status);
  assert.equal(tried, 422);

  // Cookies of TLS stay there, and a program without the pass is asked for it.
  const cookies = await phone.context().cookies();
  assert.deepEqual(cookies.map((c) => [c.name, c.secure, c.httpOnly]), [['__Host-spadework', true, true]]);
  const stranger = await openPage(t, browser, far, { ...PHONE, ignoreHTTPSErrors: true });
  await stranger.goto('/sign-in');
  const refused = await stranger.evaluate(async () => (await fetch('/suppliers', { method: 'POST', body: new URLSearchParams({ name: 'X' }) })).status);
  assert.equal(refused, 401);
  for (let i = 0; i < 5; i += 1) {
    await stranger.getByLabel('Your name').fill('Nobody');
    await stranger.getByLabel('Password').fill(`guess number ${i}`);
    await stranger.getByRole('button', { name: 'Come in' }).click();
    await stranger.getByText('That is not the password.').waitFor();
  }
  await comeIn(stranger, 'Nobody');
  await stranger.getByText('Too many wrong passwords').waitFor();

  await laptop.goto('/phones');
  await shot(laptop, 'phones-let-in');
  await laptop.getByRole('button', { name: 'Shut out Ana' }).click();
  await laptop.getByText('That phone is shut out.').waitFor();
  await phone.goto('/now');
  assert.equal(new URL(phone.url()).pathname, '/sign-in');
  await laptop.getByRole('button', { name: 'Shut phones out' }).click();
  await laptop.getByText('Only this computer can open the book now.').waitFor();
  await assert.rejects(plain(port, 'GET / HTTP/1.1\r\n\r\n').then((x) => assert.ok(x, 'nothing answers')));
  const { phones } = JSON.parse(spadework('--json', 'phones', book));
  assert.deepEqual(phones, []);
  // Without the certificate a browser keeps no pages; that it says so in its console is right.
  const expected = /status of 4|SSL certificate error/;
  const complaints = [...laptop.complaints, ...phone.complaints].filter((c) => !expected.test(c));
  assert.deepEqual(complaints, []);
});

test('a phone that trusts the certificate writes down a job without a signal', async (t) => {
  const { book, at } = await farm(t);
  const helper = await openBrowser();
  t.after(() => helper.close());
  const laptop = await openPage(t, helper, at);
  const port = await letIn(laptop, at);
  await laptop.goto('/ground/new');
  const made = await send(at, 'POST', '/ground', form({
    name: 'Bottom', kind: 'field', shape: 'rectangle', length: '100', width: '40', depth: '6.667', texture: 'loam', crop: 'potato',
  }));
  assert.equal(made.status, 303, made.text);

  // The certificate is taken in as a person takes it into a phone.
  const home = folder(t);
  const trusted = join(home, 'farm.crt');
  writeFileSync(trusted, (await send(at, 'GET', '/phones/certificate')).bytes);
  for (const place of ['.pki/nssdb', '.local/share/pki/nssdb']) {
    const store = join(home, place);
    mkdirSync(store, { recursive: true });
    execFileSync('certutil', ['-d', `sql:${store}`, '-N', '--empty-password']);
    execFileSync('certutil', ['-d', `sql:${store}`, '-A', '-t', 'C,,', '-n', 'farm', '-i', trusted]);
  }
  const far = `https://127.0.0.1:${port}`;
  const strange = await openPage(t, helper, far, PHONE);
  await assert.rejects(strange.goto('/'), /ERR_CERT_AUTHORITY_INVALID/);

  const browser = await openBrowser(home);
  t.after(() => browser.close());
  const phone = await openPage(t, browser, far, PHONE);
  await phone.goto('/log');
  await comeIn(phone, 'Luis');
  const ready = () => phone.locator('#waiting[data-ready=yes]').waitFor({ state: 'attached' });
  await ready();
  await phone.waitForFunction(
    async () => navigator.serviceWorker.controller && Boolean(await (await caches.open('pages-1')).match('/log/new')),
  );

  const write = async (amount) => {
    await phone.goto('/log/new');
    await ready();
    await phone.getByLabel('How much went on').fill(amount);
    await phone.getByLabel('Who', { exact: true }).fill('Luis');
    await phone.getByRole('button', { name: 'Write it down' }).click();
  };
  await phone.goto('/log/new');
  await ready();

  // Out of reach: nothing answers at the farm's address.
  const reach = async (on) => {
    const way = on ? '/phones/open' : '/phones/close';
    assert.equal((await send(at, 'POST', way)).status, 303);
    // As a phone says it when it is back in reach; without it the page asks every 20 s.
    if (on) await phone.evaluate(() => window.dispatchEvent(new Event('online')));
  };
  await reach(false);
  await write('11.25 lb');
  await phone.getByText('Kept on this device.').waitFor();
  await reach(true);
  await phone.getByText('The entry that waited is in the book.').waitFor({ timeout: 40_000 });
  assert.deepEqual(entries(book).map((e) => e.weight), [18000]);

  // Shut out while it walks: what is written stays on it, and goes in once the password was given again.
  await reach(false);
  await write('12.5 lb');
  await phone.getByText('Kept on this device.').waitFor();
  spadework('phones', book, '--shut-out', '1');
  await reach(true);
  await phone.getByText('wants the password again').waitFor({ timeout: 40_000 });
  await picture(phone, 'phones-again-360');
  assert.equal(entries(book).length, 1);
  await phone.getByRole('link', { name: 'Come in' }).click();
  await comeIn(phone, 'Luis');
  await phone.getByText('The entry that waited is in the book.').waitFor();
  assert.deepEqual(entries(book).map((e) => e.weight).sort(), [18000, 20000]);
  const complaints = phone.complaints.filter((c) => !/ERR_CONNECTION_REFUSED|status of 401/.test(c));
  assert.deepEqual(complaints, []);
});
