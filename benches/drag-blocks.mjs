// Draws farms of 100, 1,000 and 2,000 blocks on the sheet of the browser, drags a block about and prints
// the times between frames: `node benches/drag-blocks.mjs`.
import { freshFarm, folder, openBrowser, openPage, spadework } from '../tests/browser/lib.mjs';
import { drag, manyBlocks } from '../tests/browser/drag.mjs';

const ends = [];
const t = { after: (work) => ends.unshift(work) };
const browser = await openBrowser();
try {
  for (const count of [100, 1000, 2000]) {
    const { book, at } = await freshFarm(t);
    spadework('outlines', book, manyBlocks(folder(t), count), '--add', '--write');
    const page = await openPage(t, browser, at);
    const began = performance.now();
    const { times, share } = await drag(page);
    const took = ((performance.now() - began) / 1000).toFixed(1);
    const [half, most, all] = [0.5, 0.95, 1].map((s) => share(s).toFixed(1));
    console.log(`${count} blocks: ${times.length} frames, median ${half} ms, 95 % below ${most} ms, longest ${all} ms; ${took} s from asking for the page`);
  }
} finally {
  for (const end of ends) await end();
  await browser.close();
}
