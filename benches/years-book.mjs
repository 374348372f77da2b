// Every page of made books of twenty years, asked twenty times: `node benches/years-book.mjs [BLOCKS YEARS]`.
// Prints the median milliseconds of each page at the server and its ratio to the budget of 50 ms; pages
// over it come first. Needs `cargo build --release --workspace --bin spadework --example made_years`.
import { execFileSync, spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';

const BUDGET = 50;
const TIMES = 20;
const root = resolve(dirname(fileURLToPath(import.meta.url)), '..');
const built = join(process.env.CARGO_TARGET_DIR ?? join(root, 'target'), 'release');
const program = process.env.SPADEWORK ?? join(built, 'spadework');
const folder = mkdtempSync(join(tmpdir(), 'spadework-bench-'));
process.on('exit', () => rmSync(folder, { recursive: true, force: true }));

const PAGES = [
  '/now', '/now?map=p', '/farm', '/ground', '/ground/1', '/ground/diagram', '/ground/walk/1', '/lab',
  '/lab/boxes', '/reading', '/reading/1', '/reading/1/compare', '/materials', '/materials/lime_calcitic', '/suppliers',
  '/plan', '/plan/how', '/log', '/log/new', '/years', '/years/1', '/changes',
];

async function book(blocks, years) {
  const file = join(folder, `${blocks}.book`);
  const from = performance.now();
  execFileSync(join(built, 'examples/made_years'), [file, String(blocks), String(years)]);
  const made = (performance.now() - from) / 1000;
  const child = spawn(program, ['--json', 'serve', file, '--port', '0'], { stdio: ['ignore', 'pipe', 'inherit'] });
  process.on('exit', () => child.kill());
  const line = await new Promise((ready) => createInterface({ input: child.stdout }).once('line', ready));
  const at = JSON.parse(line).address.replace(/\/$/, '');
  const found = [];
  for (const path of PAGES) {
    const times = [];
    let size = 0;
    for (let n = 0; n < TIMES; n += 1) {
      const start = performance.now();
      const answer = await fetch(at + path, { redirect: 'manual' });
      size = (await answer.text()).length;
      times.push(performance.now() - start);
      if (answer.status >= 400) throw new Error(`${path}: ${answer.status}`);
    }
    times.sort((a, b) => a - b);
    found.push([times[TIMES / 2], path, size]);
  }
  child.kill();
  console.log(`${blocks} blocks, ${years} years (made in ${made.toFixed(1)} s)`);
  for (const [ms, path, size] of found.sort((a, b) => b[0] - a[0])) {
    const over = ms > BUDGET ? '  OVER' : '';
    console.log(`  ${ms.toFixed(1).padStart(7)} ms  ${(ms / BUDGET).toFixed(2)} of the budget  ${Math.round(size / 1024)} kB  ${path}${over}`);
  }
}

const [blocks, years] = process.argv.slice(2).map(Number);
if (blocks) await book(blocks, years || 20);
else {
  await book(60, 20);
  await book(1000, 20);
}
process.exit(0);
