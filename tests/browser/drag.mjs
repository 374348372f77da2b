// Many blocks on the sheet, and how long the frames take while one of them is dragged.
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';

/** Writes a file of blocks side by side, at sea, and gives its path. */
export function manyBlocks(folder, count) {
  const step = 0.0005;
  const wide = step * 0.8;
  const across = Math.ceil(Math.sqrt(count * 1.6));
  const features = Array.from({ length: count }, (_, i) => {
    const [x, y] = [-73.6 + (i % across) * step, 39.9 + Math.floor(i / across) * step];
    const ring = [[x, y], [x + wide, y], [x + wide, y + wide], [x, y + wide], [x, y]];
    return { type: 'Feature', properties: { name: `Block ${i + 1}` }, geometry: { type: 'Polygon', coordinates: [ring] } };
  });
  const path = join(folder, 'many.geojson');
  writeFileSync(path, JSON.stringify({ type: 'FeatureCollection', features }));
  return path;
}

/** Drags the block in the middle of the sheet about and gives the times between frames, ms, sorted. */
export async function drag(page) {
  await page.goto('/ground/draw');
  await page.waitForSelector('#draw[data-ready]');
  const box = await page.locator('[data-draw="sheet"]').boundingBox();
  // The middle may be a path between blocks; a few steps on there is a block.
  let [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  const held = () => page.inputValue('[data-draw="list"]');
  for (let tries = 0; tries < 20 && !(await held()); tries += 1) {
    [x, y] = [x + 1, y + 1];
    await page.mouse.click(x, y);
  }
  if (!(await held())) throw new Error('no block lies under the mouse');
  await page.mouse.move(x, y);
  await page.mouse.down();
  await page.evaluate(() => {
    const times = [];
    let last = performance.now();
    const next = (now) => {
      times.push(now - last);
      last = now;
      if (window.measuring) requestAnimationFrame(next);
    };
    window.measuring = times;
    requestAnimationFrame(next);
  });
  for (let i = 0; i < 120; i += 1) await page.mouse.move(x + i * 2, y + Math.sin(i / 9) * 60);
  const times = await page.evaluate(() => {
    const all = window.measuring;
    window.measuring = null;
    return all;
  });
  await page.mouse.up();
  times.sort((a, b) => a - b);
  return { times, share: (of) => times[Math.min(times.length - 1, Math.floor(times.length * of))] };
}
