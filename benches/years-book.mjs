// Every page of made books of twenty years: `node benches/years-book.mjs [BLOCKS YEARS [PART]]`, or those alone whose
// address has a part of it.
// Prints for each page the median milliseconds that the server works for it (its processor’s time, which other
// programs of the computer do not lengthen) in calls after a first one, the milliseconds of the first call after a
// harvest was written down, the median until the answer is there, and the size; ends with 1 where a page is over the budget of 50 ms or of
// 300 kB. Two plans are made first, as for any farm in its season. Needs
// `cargo build --release --workspace --bin spadework --example made_years`.
import { execFileSync, spawn } from 'node:child_process';
import { randomUUID } from 'node:crypto';
import { mkdtempSync, readFileSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';

const BUDGET = 50;
const LARGEST = 300;
const [BLOCKS, YEARS] = process.argv.slice(2, 4).map(Number);
const PART = process.argv[4] ?? '';
const TIMES = 9;
const root = resolve(dirname(fileURLToPath(import.meta.url)), '..');
const built = join(process.env.CARGO_TARGET_DIR ?? join(root, 'target'), 'release');
const program = process.env.SPADEWORK ?? join(built, 'spadework');
const folder = mkdtempSync(join(tmpdir(), 'spadework-bench-'));
process.on('exit', () => rmSync(folder, { recursive: true, force: true }));

// A page of the list of every route that can be read, which a test holds complete. Left out: files to take
// away, what is no page, and what this book does not have.
const LEFT_OUT = /\.(pdf|ics|gpx|js|css|csv|json)(\?|$)|^\/$|^\/wait|\/static\/|no-such-page|\/lab\/1$|\/lab\/1\/|\/record\/balance|\/stock\/paper|\/suppliers\/1|\/spreaders\/1|\/stock\/(delivery|counted)|\/phones\/certificate|\/sign-in|\/sampling\/box\/|\/lab\/boxes|\/ground\/picture|\/ground\/draw\/sheet|\/book\//;
const list = readFileSync(join(root, 'crates/web/tests/routes.rs'), 'utf8').split('#[test]')[0];
const PAGES = [...list.matchAll(/\(\s*"[^"]+",\s*"([^"]+)",?\s*\)/g)].map((m) => m[1]).filter((path) => !LEFT_OUT.test(path));
PAGES.push('/log?season=2020&leaf=2', '/log?find=block+7', '/log/new?entry=1', '/ground?leaf=9', '/plan?leaf=3', '/record');

/** The milliseconds that the threads of a process have worked so far. */
function worked(pid) {
  const threads = readdirSync(`/proc/${pid}/task`);
  const of = (thread) => {
    try {
      return Number(readFileSync(`/proc/${pid}/task/${thread}/schedstat`, 'utf8').split(' ')[0]) / 1e6;
    } catch {
      return 0; // it ended meanwhile
    }
  };
  return threads.map(of).reduce((a, b) => a + b, 0);
}

async function book(blocks, years) {
  const file = join(folder, `${blocks}.book`);
  const timed = (work) => {
    const from = performance.now();
    work();
    return ((performance.now() - from) / 1000).toFixed(1);
  };
  const made = timed(() => execFileSync(join(built, 'examples/made_years'), [file, String(blocks), String(years)]));
  const plan = () => execFileSync(program, ['plan', file], { stdio: 'ignore' });
  const planned = timed(plan);
  plan();
  const child = spawn(program, ['--json', 'serve', file, '--port', '0'], { stdio: ['ignore', 'pipe', 'inherit'] });
  process.on('exit', () => child.kill());
  const line = await new Promise((ready) => createInterface({ input: child.stdout }).once('line', ready));
  const at = JSON.parse(line).address.replace(/\/$/, '');
  const found = [];
  // Every page is asked for after a change of the book, and then again while it stays as it is.
  const picked = async () => {
    const [mark, day] = [randomUUID(), new Date().toISOString().slice(0, 10)];
    const body = new URLSearchParams({ mark, of: 'Block 1', on: day, count: '10', unit: 'lb' });
    const answer = await fetch(`${at}/log/harvest`, { method: 'POST', body, redirect: 'manual' });
    if (answer.status !== 303) throw new Error(`/log/harvest: ${answer.status}`);
  };
  for (const path of PAGES.filter((path) => path.includes(PART))) {
    const call = async () => {
      const before = worked(child.pid);
      const start = performance.now();
      const answer = await fetch(at + path, { redirect: 'manual' });
      const size = (await answer.arrayBuffer()).byteLength;
      if (answer.status !== 200) throw new Error(`${path}: ${answer.status}`);
      const waited = performance.now() - start;
      return { ms: worked(child.pid) - before, waited, size };
    };
    await picked();
    const first = await call();
    const calls = [];
    for (let n = 0; n < TIMES; n += 1) calls.push(await call());
    const middle = (of) => calls.map(of).sort((a, b) => a - b)[Math.floor(TIMES / 2)];
    found.push({ path, ms: middle((c) => c.ms), waited: middle((c) => c.waited), first: first.ms, kb: first.size / 1024 });
  }
  const memory = readFileSync(`/proc/${child.pid}/status`, 'utf8').match(/VmRSS:\s+(\d+)/);
  child.kill();
  const over = (page) => page.ms > BUDGET || page.kb > LARGEST;
  console.log(`${blocks} blocks, ${years} years (made in ${made} s, planned in ${planned} s; ${Math.round(Number(memory?.[1] ?? 0) / 1024)} MB while serving)`);
  console.log('   median    first   waited     size');
  for (const page of found.sort((a, b) => b.ms - a.ms)) {
    console.log(`${page.ms.toFixed(1).padStart(6)} ms ${page.first.toFixed(0).padStart(5)} ms ${page.waited.toFixed(0).padStart(5)} ms ${page.kb.toFixed(0).padStart(5)} kB  ${page.path}${over(page) ? '  OVER' : ''}`);
  }
  console.log(`${found.filter((p) => !over(p)).length} of ${found.length} pages within ${BUDGET} ms and ${LARGEST} kB`);
  return found.filter(over).length;
}

const over = BLOCKS ? await book(BLOCKS, YEARS || 20) : (await book(60, 20)) + (await book(1000, 20));
process.exit(over > 0 ? 1 : 0);
