// Reads one file of 1,000 samples for a farm of 1,000 blocks by the command line and by the pages, and
// prints the seconds of each step: `node benches/thousand-samples.mjs [SAMPLES]`.
import { execFileSync, spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';

const root = resolve(dirname(fileURLToPath(import.meta.url)), '..');
const program = process.env.SPADEWORK ?? join(process.env.CARGO_TARGET_DIR ?? join(root, 'target'), 'release/spadework');
const count = Number(process.argv[2] ?? 1000);
const folder = mkdtempSync(join(tmpdir(), 'spadework-bench-'));
process.on('exit', () => rmSync(folder, { recursive: true, force: true }));

// The same numbers each time, without a seed to keep.
const spread = (n, low, high) => low + ((n * 7919) % 1000) / 1000 * (high - low);
const name = (n) => `Field ${n} ${['north', 'south', 'east', 'west'][n % 4]}`;
const numbers = Array.from({ length: count }, (_, n) => n + 1);
const ground = join(folder, 'ground.csv');
const lab = join(folder, 'lab.csv');
writeFileSync(ground, `name,length_ft,width_ft,crop\n${numbers.map((n) => `${name(n)},200,100,carrot\n`).join('')}`);
writeFileSync(
  lab,
  'Extraction: Mehlich-3; buffer: Sikora; depth 0 to 6.67 in\n\nSample,pH,Buffer pH,OM (%),P (ppm),K (ppm),Ca (ppm),Mg (ppm),CEC (meq/100 g)\n' +
    numbers
      .map((n) => {
        const [ca, mg, k] = [spread(n, 800, 1600), spread(n + 3, 90, 200), spread(n + 5, 60, 200)];
        const bases = ca / 200 + mg / 120 + k / 390;
        return `${name(n)},6.2,6.7,${spread(n, 2, 5).toFixed(1)},${spread(n + 1, 20, 120).toFixed(0)},${k.toFixed(0)},${ca.toFixed(0)},${mg.toFixed(0)},${(bases * 1.3).toFixed(1)}\n`;
      })
      .join(''),
);

const said = [];
async function timed(step, work) {
  const from = performance.now();
  const result = await work();
  said.push([step, (performance.now() - from) / 1000]);
  return result;
}
const fresh = (file) => {
  const book = join(folder, file);
  execFileSync(program, ['new', book, '--name', 'Bench', '--season', '2027', '--region', 'New Jersey', '--ground', ground]);
  return book;
};

const first = fresh('first.book');
await timed('import, command line', () => execFileSync(program, ['import', first, lab]));

const child = spawn(program, ['--json', 'serve', fresh('second.book'), '--port', '0'], { stdio: ['ignore', 'pipe', 'inherit'] });
process.on('exit', () => child.kill());
const line = await new Promise((ready) => createInterface({ input: child.stdout }).once('line', ready));
const at = JSON.parse(line).address.replace(/\/$/, '');
const page = async (path, options) => {
  const answer = await fetch(at + path, options);
  const text = await answer.text();
  if (!answer.ok) throw new Error(`${path}: ${answer.status} ${text.slice(0, 300)}`);
  return { text, path: new URL(answer.url).pathname, kilobytes: Math.round(text.length / 1024) };
};
const form = new FormData();
form.append('file', new Blob([readFileSync(lab)]), 'lab.csv');
let shown = await timed('load, page of its columns', async () => {
  let now = await page('/lab', { method: 'POST', body: form, headers: { origin: at } });
  // A page that waits asks again by itself.
  while (/http-equiv="refresh"/.test(now.text)) now = await page(now.path);
  return now;
});
shown = await timed('read, page of its samples', () =>
  page(`${shown.path}/read`, { method: 'POST', body: new URLSearchParams({}), headers: { origin: at } }),
);
if (!shown.text.includes(`${count} samples were read`)) throw new Error(shown.text.slice(0, 2000));
const samples = shown.kilobytes;
await timed('the page of samples again', () => page(shown.path));
await timed('the page of readings', () => page('/reading'));
for (const [step, seconds] of said) console.log(`${seconds.toFixed(3)} s  ${step}`);
console.log(`${samples} kB  the page of samples`);
process.exit(0);
