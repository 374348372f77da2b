// Starting the program and a browser, and the questions every journey asks of a page.
import { spawn, execFileSync } from 'node:child_process';
import assert from 'node:assert/strict';
import { accessSync, constants, mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { createInterface } from 'node:readline';
import { delimiter, dirname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { tmpdir } from 'node:os';
import http from 'node:http';
import { chromium } from 'playwright-core';

export const HERE = dirname(fileURLToPath(import.meta.url));
export const ROOT = resolve(HERE, '../..');
const PROGRAM =
  process.env.SPADEWORK ?? join(process.env.CARGO_TARGET_DIR ?? join(ROOT, 'target'), 'release/spadework');

export const file = (name) => join(HERE, 'files', name);

function onPath(name) {
  for (const folder of (process.env.PATH ?? '').split(delimiter)) {
    const full = join(folder, name);
    try {
      accessSync(full, constants.X_OK);
      return full;
    } catch {
      // not in this folder
    }
  }
  throw new Error(`${name} is not installed`);
}

const FLAGS = [
  '--headless',
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
  // The shared memory of a container is too small for a browser.
  '--disable-dev-shm-usage',
];

/** A browser with a user folder of its own; each context begins without cookies or cache. `home` is where
 * it looks for what the person of this computer trusts. */
export const openBrowser = (home) =>
  chromium.launch({
    executablePath: process.env.CHROMIUM ?? onPath('chromium'),
    args: FLAGS,
    ...(home ? { env: { ...process.env, HOME: home } } : {}),
  });

export const spadework = (...args) => execFileSync(PROGRAM, args, { encoding: 'utf8' });

/** A folder that is gone when the test is over. */
export function folder(t) {
  const path = mkdtempSync(join(tmpdir(), 'spadework-journey-'));
  t.after(() => rmSync(path, { recursive: true, force: true }));
  return path;
}

/** Runs the program until the test is over and gives what it said when it was ready. */
export async function start(t, args) {
  const child = spawn(PROGRAM, ['--json', ...args, '--port', '0'], { stdio: ['ignore', 'pipe', 'inherit'] });
  const stopped = new Promise((done) => child.once('exit', done));
  t.after(async () => {
    child.kill('SIGINT');
    const late = setTimeout(() => child.kill('SIGKILL'), 5000);
    await stopped;
    clearTimeout(late);
  });
  const line = await Promise.race([
    new Promise((ready) => createInterface({ input: child.stdout }).once('line', ready)),
    stopped.then((code) => Promise.reject(new Error(`the program ended with ${code} before it served`))),
  ]);
  return JSON.parse(line);
}

/** The same, and gives the address that it serves. */
const run = async (t, args) => (await start(t, args)).address.replace(/\/$/, '');

/** Serves a fresh book; `ground` names a file of blocks to begin with. */
export async function freshFarm(t, { ground, organic = true } = {}) {
  const book = join(folder(t), 'farm.book');
  const more = [...(ground ? ['--ground', ground] : []), ...(organic ? ['--organic'] : [])];
  spadework('new', book, '--name', 'Plover Bank', '--season', '2027', '--region', 'New Jersey', ...more);
  return { book, at: await run(t, ['serve', book]) };
}

/** Serves the demo; `planned` makes its plan first. */
export async function demoFarm(t, { planned = true } = {}) {
  const book = join(folder(t), 'demo.book');
  const at = await run(t, ['demo', '--file', book]);
  if (planned) {
    const made = await send(at, 'POST', '/plan');
    if (made.status !== 303) throw new Error(`the demo could not be planned: ${made.status} ${words(made.text)}`);
    for (let to = made.headers.location; to.startsWith('/wait'); ) {
      await new Promise((later) => setTimeout(later, 200));
      to = (await send(at, 'GET', '/wait')).headers.location ?? to;
    }
  }
  return { book, at };
}

/** A page in a context of its own, with everything the browser complained of in `page.complaints`. */
export async function openPage(t, browser, at, options = {}) {
  const context = await browser.newContext({ baseURL: at, viewport: { width: 1280, height: 900 }, ...options });
  t.after(() => context.close());
  context.setDefaultTimeout(20_000);
  const page = await context.newPage();
  page.complaints = [];
  // The status of a whole page, such as 422 beside a sentence, is an answer and not a complaint.
  const documents = new Set();
  page.on('request', (r) => r.resourceType() === 'document' && documents.add(r.url()));
  page.on('console', (m) => {
    const status = /the server responded with a status of 4/.test(m.text()) && documents.has(m.location().url);
    if (['error', 'warning'].includes(m.type()) && !status) page.complaints.push(`${page.url()}: ${m.text()}`);
  });
  page.on('pageerror', (e) => page.complaints.push(`${page.url()}: ${e}`));
  page.on('requestfailed', (r) => {
    // A link that is followed at once ends what was still on its way.
    const left = r.failure()?.errorText === 'net::ERR_ABORTED';
    if (r.resourceType() !== 'document' && !left) page.complaints.push(`${page.url()}: ${r.url()} ${r.failure()?.errorText}`);
  });
  return page;
}

/** One request as any program could send it, with headers a browser would not let be set. */
export function send(at, method, path, { headers = {}, body } = {}) {
  const url = new URL(at);
  return new Promise((done, failed) => {
    const request = http.request(
      { host: url.hostname, port: url.port, method, path, headers: { host: url.host, ...headers } },
      (response) => {
        const parts = [];
        response.on('data', (p) => parts.push(p));
        response.on('error', failed);
        response.on('end', () => {
          const bytes = Buffer.concat(parts);
          done({ status: response.statusCode, headers: response.headers, bytes, text: bytes.toString('utf8') });
        });
      },
    );
    request.on('error', failed);
    request.end(body);
  });
}

export const form = (fields) => ({
  headers: { 'content-type': 'application/x-www-form-urlencoded' },
  body: new URLSearchParams(fields).toString(),
});

/** The text of a page without its tags. */
export const words = (html) => html.replace(/<[^>]+>/g, ' ').replace(/\s+/g, ' ').trim();

/** The pages and the text of a PDF. */
export function pdf(bytes) {
  if (bytes.subarray(0, 5).toString('latin1') !== '%PDF-') throw new Error('this is no PDF');
  const info = execFileSync('pdfinfo', ['-'], { input: bytes, encoding: 'utf8', stdio: ['pipe', 'pipe', 'ignore'] });
  return {
    pages: Number(/Pages:\s+(\d+)/.exec(info)?.[1]),
    text: execFileSync('pdftotext', ['-layout', '-', '-'], { input: bytes, encoding: 'utf8', stdio: ['pipe', 'pipe', 'ignore'] }),
  };
}

/** Opens everything that unfolds, as a reader who wants to see it all. */
export const unfold = (page) => page.evaluate(() => document.querySelectorAll('details').forEach((d) => (d.open = true)));

/** What is wrong with the bones of a page; empty where all is well. */
export const faults = (page) =>
  page.evaluate(() => {
    const found = [];
    const one = document.querySelectorAll('h1').length;
    if (one !== 1) found.push(`${one} h1`);
    if (!document.querySelector('h1')?.textContent.trim()) found.push('an empty h1');
    if (!document.title.trim()) found.push('no title');
    if (!document.documentElement.lang) found.push('no language');
    if (document.querySelectorAll('main').length !== 1) found.push('not one main');
    const says = (e) => (e.getAttribute('aria-label') ?? '').trim();
    for (const e of document.querySelectorAll('input:not([type=hidden]), select, textarea')) {
      const label = [...(e.labels ?? [])].map((l) => l.textContent.trim()).join(' ');
      if (!label && !says(e)) found.push(`no label: ${e.outerHTML.slice(0, 90)}`);
    }
    for (const e of document.querySelectorAll('img, svg')) {
      const quiet = e.getAttribute('aria-hidden') === 'true';
      if (!quiet && !says(e) && !(e.getAttribute('alt') ?? '').trim()) found.push(`a picture without words: ${e.outerHTML.slice(0, 90)}`);
    }
    for (const e of document.querySelectorAll('a[href], button')) {
      if (!e.textContent.trim() && !says(e)) found.push(`nothing to read on ${e.outerHTML.slice(0, 90)}`);
    }
    const ids = [...document.querySelectorAll('[id]')].map((e) => e.id);
    for (const id of new Set(ids.filter((id, i) => ids.indexOf(id) !== i))) found.push(`two with the id ${id}`);
    return found;
  });

/** By how many pixels the page is wider than the window, and what sticks out. */
export const overflow = (page) =>
  page.evaluate(() => {
    const wide = document.scrollingElement.scrollWidth;
    const room = document.documentElement.clientWidth;
    if (wide <= room) return null;
    const out = [...document.querySelectorAll('body *')]
      .filter((e) => e.getBoundingClientRect().right > room + 1 && !e.closest('.scroll'))
      .map((e) => `${e.tagName.toLowerCase()}.${e.getAttribute('class') ?? ''} to ${Math.round(e.getBoundingClientRect().right)}`);
    return `${wide} px wide in ${room}: ${out.slice(0, 5).join(', ')}`;
  });

/** One address for each kind of page of the demo, named. `waiting` is a report that waits to be read. */
export const kinds = (waiting) => [
  ['farm', '/farm'],
  ['ground', '/ground'],
  ['block', '/ground/4'],
  ['block-new', '/ground/new'],
  ['setbacks', '/ground/setbacks'],
  ['draw', '/ground/draw'],
  ['sampling', '/sampling'],
  ['sampling-block', '/sampling/2'],
  ['boxes', '/sampling/boxes'],
  ['lab', '/lab'],
  ['lab-read', '/lab/1'],
  ...(waiting ? [['lab-asks', waiting]] : []),
  ['reading', '/reading'],
  ['reading-block', '/reading/2'],
  ['reading-tunnel', '/reading/9'],
  ['reading-blueberry', '/reading/14'],
  ['spreaders', '/spreaders'],
  ['costs', '/costs'],
  ['materials', '/materials'],
  ['material', '/materials/lime_calcitic'],
  ['compost', '/materials/compost_general/made'],
  ['plan', '/plan'],
  ['plan-block', '/plan/2'],
  ['order', '/order'],
  ['jobs', '/jobs'],
  ['now', '/now'],
  ['years', '/years'],
  ['years-block', '/years/2'],
  ['job', '/jobs/4'],
  ['log', '/log'],
  ['log-new', '/log/new'],
  ['stock', '/stock'],
  ['record', '/record'],
  ['book', '/book'],
  ['adviser', '/adviser'],
  ['adviser-block', '/adviser/2'],
  ['nutrient-plan', '/nutrient-plan'],
  ['changes', '/changes'],
  ['phones', '/phones'],
  ['not-here', '/no-such-page'],
];

/** Waits until a search for a plan is over, however long it takes within a minute. */
export async function planFound(page, timeout = 60_000) {
  await page.waitForURL((url) => !url.pathname.startsWith('/wait'), { timeout });
}

/** A picture of the page in the folder that SHOTS names, if it names one. */
export async function picture(page, name) {
  if (!process.env.SHOTS) return;
  mkdirSync(process.env.SHOTS, { recursive: true });
  await page.screenshot({ path: join(process.env.SHOTS, `${name}.png`), fullPage: true });
}

/** The same of a page that must fit its width. */
export async function shot(page, name) {
  assert.equal(await overflow(page), null, name);
  await picture(page, name);
}
