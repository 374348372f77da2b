// Draws blocks and what stands beside them to scale on a sheet, with mouse, finger or keys alone.
import OlMap from 'ol/Map.js';
import View from 'ol/View.js';
import Collection from 'ol/Collection.js';
import Feature from 'ol/Feature.js';
import MultiPolygon from 'ol/geom/MultiPolygon.js';
import Projection from 'ol/proj/Projection.js';
import VectorLayer from 'ol/layer/Vector.js';
import VectorSource from 'ol/source/Vector.js';
import ScaleLine from 'ol/control/ScaleLine.js';
import Draw, { createBox } from 'ol/interaction/Draw.js';
import Modify from 'ol/interaction/Modify.js';
import Snap from 'ol/interaction/Snap.js';
import Translate from 'ol/interaction/Translate.js';
import { defaults as usual } from 'ol/interaction/defaults.js';
import { History } from './draw/history.js';
import { Beneath } from './draw/beneath.js';
import { FONT, grid, ready, step, style } from './draw/look.js';
import { measure, nudge, rectangle, reshape, sinCos } from './draw/measure.js';
import { Photo } from './draw/photo.js';
import { Store, count, send, sendCut, sendJoin } from './draw/store.js';

// Until its style is there the sheet has no height.
if (document.readyState !== 'complete') await new Promise((done) => window.addEventListener('load', done, { once: true }));

const FOOT = 0.3048;
const root = document.querySelector('#draw');
root.hidden = false;
root.dataset.lettering = FONT;
const part = (name) => root.querySelector(`[data-draw="${name}"]`);
const [target, list, said, tally] = ['sheet', 'list', 'said', 'tally'].map(part);
const field = (name) => root.querySelector(`[name="draw_${name}"]`);

const reach = 200_000;
const projection = new Projection({ code: 'sheet', units: 'm', extent: [-reach, -reach, reach, reach] });
const view = new View({ projection, center: [0, 0], resolution: 0.5, minResolution: 0.01, maxResolution: 200, enableRotation: false });
const source = new VectorSource();
const chosen = new Collection();
const isChosen = (f) => chosen.getArray()[0] === f;
const layer = new VectorLayer({ source, style: style(isChosen), updateWhileInteracting: true, updateWhileAnimating: true });
const unit = () => (field('unit').value === 'm' ? 1 : FOOT);
const scale = new ScaleLine({ units: 'us' });
const map = new OlMap({
  target,
  view,
  layers: [layer],
  controls: [scale],
  interactions: usual({ altShiftDragRotate: false, pinchRotate: false, keyboard: false, doubleClickZoom: false }),
});
const beneath = new Beneath(layer);
grid(layer, view, unit);

const store = new Store();
const history = new History(source, refresh);
const plain = (value) => String(Math.round(value * 100) / 100);
const tell = (text) => {
  said.textContent = text;
};

/** Everything beside the sheet, as the drawing now is. */
function refresh() {
  const features = source.getFeatures();
  if (chosen.getLength() && !source.hasFeature(chosen.item(0))) chosen.clear();
  list.replaceChildren(
    new Option('nothing', ''),
    ...features.map((f) => new Option(f.get('name') || f.get('kind') || 'without a name', f.ol_uid, false, isChosen(f))),
  );
  const changes = count(store.changes(source));
  tally.textContent = changes === 0 ? 'Everything is kept.' : changes === 1 ? '1 thing is not kept yet.' : `${changes} things are not kept yet.`;
  part('undo').disabled = !history.canUndo;
  part('redo').disabled = !history.canRedo;
  part('keep').disabled = changes === 0;
  fill();
  layer.changed();
}

/** The fields of the chosen thing: those of a block, or those of what stands beside blocks. */
function fill() {
  const f = chosen.item(0);
  const isBlock = f?.getGeometry() instanceof MultiPolygon;
  part('chosen').hidden = !f;
  for (const row of root.querySelectorAll('[data-of]')) row.hidden = (row.dataset.of === 'block') !== isBlock;
  part('area').textContent = '';
  if (!f) return;
  field('name').value = f.get('name') ?? '';
  if (!isBlock) {
    const wide = f.get('width');
    field('across').value = wide === null || wide === undefined ? '' : plain(wide / unit());
    field('across').disabled = f.getGeometry().getType() === 'Polygon';
    return;
  }
  const m = measure(f.getGeometry());
  const u = unit();
  field('length').value = plain(m.length / u);
  field('width').value = plain(m.width / u);
  field('direction').value = plain(m.direction);
  field('east').value = plain(m.middle[0] / u);
  field('north').value = plain(m.middle[1] / u);
  const area = f.getGeometry().getArea() / (u * u);
  part('area').textContent = `${Math.round(area).toLocaleString('en-US')} ${u === 1 ? 'm²' : 'ft²'} inside`;
}

function choose(feature) {
  chosen.clear();
  if (feature) chosen.push(feature);
  refresh();
  if (strip === 'join') fillJoin();
}

/** A name that nothing on the sheet has. */
function freeName(base) {
  const taken = new Set(source.getFeatures().map((f) => (f.get('name') ?? '').toLowerCase()));
  const [, stem, number] = base.match(/^(.*?)\s*(\d*)$/);
  for (let n = number ? Number(number) : 1; ; n += 1) {
    const name = `${stem || 'Block'} ${n}`;
    if (!taken.has(name.toLowerCase())) return name;
  }
}

function add(geometry, name) {
  const feature = new Feature(geometry);
  feature.setProperties({ id: 0, name });
  source.addFeature(feature);
  return feature;
}

/** One step of the drawing that can be undone. */
function change(features, work) {
  history.begin(features);
  const made = work() ?? [];
  history.end(made);
}

const number = (name) => {
  const value = Number(field(name).value.replace(',', ''));
  return field(name).value.trim() === '' || !Number.isFinite(value) ? null : value;
};

// Moving with the mouse or a finger.
const translate = new Translate({ features: chosen, hitTolerance: 4 });
translate.on('translatestart', () => history.begin(chosen.getArray()));
translate.on('translateend', (event) => {
  // A click chooses and moves nothing.
  const [dx, dy] = [0, 1].map((i) => event.coordinate[i] - event.startCoordinate[i]);
  if (Math.hypot(dx, dy) < view.getResolution()) {
    chosen.item(0).getGeometry().translate(-dx, -dy);
    history.drop();
    return;
  }
  if (field('snap').checked) snapTo(chosen.item(0), view.getResolution() * 12);
  history.end();
});
function snapTo(feature, far) {
  const geometry = feature.getGeometry();
  if (!(geometry instanceof MultiPolygon)) return;
  const near = geometry.getExtent();
  const others = source
    .getFeaturesInExtent([near[0] - far, near[1] - far, near[2] + far, near[3] + far])
    .filter((f) => f !== feature && f.getGeometry() instanceof MultiPolygon)
    .map((f) => f.getGeometry());
  const shift = nudge(geometry, others, far, step(view.getResolution(), unit()));
  if (shift) geometry.translate(...shift);
}

const modify = new Modify({ features: chosen });
modify.on('modifystart', () => history.begin(chosen.getArray()));
modify.on('modifyend', () => history.end());
const snap = new Snap({ source });

let drawing = null;
let tool = '';
const photo = new Photo(part('photo'), {
  store,
  history,
  layer,
  unit,
  tell,
  lay: (place) => {
    store.picture = place;
    beneath.move(place);
  },
  // What is clicked for the photo moves no block.
  free: () => use('none'),
});

/** Cuts the chosen block of the book along a line. */
async function cut(line) {
  use('move');
  const f = chosen.item(0);
  if (count(store.changes(source)) > 0 || !f?.get('id') || f.get('kind')) {
    tell('Choose a block that is kept, keep what else you drew, and draw the line across it then.');
    return;
  }
  const names = [field('left').value.trim(), field('right').value.trim()];
  const answer = await sendCut({ frame: store.frame, block: f.get('id'), line, names, year: number('cut_year') ?? 0 });
  if (answer.kept) await load();
  tell(answer.said);
}

/** What a thing drawn with a tool becomes. */
function drawn(name, geometry) {
  history.begin([]);
  let feature;
  if (['point', 'line', 'area'].includes(name)) {
    const wide = number('mark_width');
    feature = new Feature(geometry);
    feature.setProperties({ id: 0, kind: field('kind').value, name: '', width: name === 'area' || wide === null ? null : wide * unit() });
    source.addFeature(feature);
  } else {
    feature = add(new MultiPolygon([geometry.getCoordinates()]), freeName('Block'));
  }
  history.end([feature]);
  choose(feature);
}

const forms = { cut: 'LineString', rectangle: 'Circle', outline: 'Polygon', point: 'Point', line: 'LineString', area: 'Polygon' };
function use(name) {
  tool = name;
  for (const i of [drawing, translate, modify, snap]) if (i) map.removeInteraction(i);
  drawing = null;
  for (const button of root.querySelectorAll('[data-tool]')) button.setAttribute('aria-pressed', String(button.dataset.tool === name));
  if (name === 'move') map.addInteraction(translate);
  else if (name === 'corners') map.addInteraction(modify);
  else if (forms[name]) {
    drawing = new Draw({ type: forms[name], geometryFunction: name === 'rectangle' ? createBox() : undefined });
    drawing.on('drawend', (event) => {
      const geometry = event.feature.getGeometry();
      if (name === 'cut') cut(geometry.getCoordinates());
      else drawn(name, geometry);
    });
    map.addInteraction(drawing);
  }
  if (field('snap').checked && (drawing || name === 'corners')) map.addInteraction(snap);
}
for (const button of root.querySelectorAll('[data-tool]')) {
  button.addEventListener('click', () => {
    photo.end();
    use(button.dataset.tool);
  });
}
field('snap').addEventListener('change', () => use(tool));

// What a tool asks for stands between the tools and the sheet, one at a time.
let strip = '';
function openStrip(name) {
  strip = strip === name ? '' : name;
  for (const panel of root.querySelectorAll('[data-panel]')) panel.hidden = panel.dataset.panel !== strip;
  for (const button of root.querySelectorAll('[data-strip]')) button.setAttribute('aria-expanded', String(button.dataset.strip === strip));
  photo.end();
  use(strip === 'photo' ? 'none' : 'move');
  if (strip === 'join') fillJoin();
  map.updateSize();
  layer.changed();
}
for (const button of root.querySelectorAll('[data-strip]')) button.addEventListener('click', () => openStrip(button.dataset.strip));

/** The blocks that the chosen one can be laid together with. */
function fillJoin() {
  const f = chosen.item(0);
  const kept = source.getFeatures().filter((o) => o !== f && o.get('id') && !o.get('kind'));
  const was = field('join_with').value;
  kept.sort((a, b) => a.get('name').localeCompare(b.get('name'), undefined, { numeric: true }));
  field('join_with').replaceChildren(...kept.map((o) => new Option(o.get('name'), o.get('id'), false, String(o.get('id')) === was)));
  part('join-of').textContent = f?.get('id') && !f.get('kind') ? `“${f.get('name')}” and` : 'Choose a kept block first, then';
}
part('join-blocks').addEventListener('click', async () => {
  const f = chosen.item(0);
  const other = Number(field('join_with').value);
  if (count(store.changes(source)) > 0 || !f?.get('id') || f.get('kind') || !other) {
    tell('Choose a block that is kept, keep what else you drew, and choose what it is laid together with.');
    return;
  }
  const answer = await sendJoin({ blocks: [f.get('id'), other], name: field('join_name').value.trim(), year: number('join_year') ?? 0 });
  if (answer.kept) {
    openStrip('join');
    await load();
  }
  tell(answer.said);
});

map.on('click', (event) => photo.click(event.coordinate));
map.on('pointerdown', (event) => {
  if (photo.picking) return;
  if (tool !== 'move' && tool !== 'corners') return;
  const hit = map.forEachFeatureAtPixel(event.pixel, (f) => (source.hasFeature(f) ? f : undefined), { hitTolerance: 4 });
  if (!hit || isChosen(hit)) return;
  // With a block chosen, another one is what it is laid together with.
  if (strip === 'join' && chosen.item(0)?.get('id') && hit.get('id') && !hit.get('kind')) field('join_with').value = String(hit.get('id'));
  else choose(hit);
});

// With fields and buttons.
list.addEventListener('change', () => choose(source.getFeatures().find((f) => f.ol_uid === list.value)));
field('find').addEventListener('input', () => {
  const wanted = field('find').value.trim().toLowerCase();
  if (!wanted) return;
  const named = source.getFeatures().map((f) => [(f.get('name') || f.get('kind') || '').toLowerCase(), f]);
  const [, f] = named.find(([n]) => n === wanted) ?? named.find(([n]) => n.startsWith(wanted)) ?? named.find(([n]) => n.includes(wanted)) ?? [];
  if (!f) {
    tell(`Nothing on the sheet is called “${field('find').value.trim()}”.`);
    return;
  }
  choose(f);
  const [w, south, e, n] = f.getGeometry().getExtent();
  view.setCenter([(w + e) / 2, (south + n) / 2]);
  tell(`Found “${f.get('name') || f.get('kind')}”.`);
});
field('unit').addEventListener('change', () => {
  scale.setUnits(field('unit').value === 'm' ? 'metric' : 'us');
  refresh();
});

/** The name and the width of something that is no block. */
function setMark(f) {
  const wide = number('across');
  if (field('across').value.trim() !== '' && (wide === null || wide < 0)) {
    tell(`“${field('across').value.trim()}” is no width; give a number of ${unit() === 1 ? 'metres' : 'feet'}, or leave it empty.`);
    return;
  }
  change([f], () => {
    f.set('name', field('name').value.trim());
    const was = f.get('width');
    if (wide === null) f.set('width', null);
    else if (was === null || was === undefined || plain(was / unit()) !== plain(wide)) f.set('width', wide * unit());
  });
  tell(`“${f.get('name') || f.get('kind')}” is set.`);
  refresh();
}

function setChosen() {
  const f = chosen.item(0);
  if (!f) return;
  const u = unit();
  if (f.get('kind')) {
    setMark(f);
    return;
  }
  const given = { length: number('length'), width: number('width'), direction: number('direction') };
  if (f.getGeometry() instanceof MultiPolygon && !(given.length > 0 && given.width > 0)) {
    tell('Length and width are numbers above zero.');
    return;
  }
  change([f], () => {
    f.set('name', field('name').value.trim());
    if (!(f.getGeometry() instanceof MultiPolygon)) return;
    const now = measure(f.getGeometry());
    const at = (name, i) => {
      const value = number(name);
      return value === null || plain(now.middle[i] / u) === plain(value) ? now.middle[i] : value * u;
    };
    const keep = (value, was) => (value === null || plain(was / u) === plain(value) ? was : value * u);
    reshape(f.getGeometry(), {
      length: keep(given.length, now.length),
      width: keep(given.width, now.width),
      direction: given.direction === null || plain(now.direction) === plain(given.direction) ? now.direction : given.direction,
      middle: [at('east', 0), at('north', 1)],
    });
  });
  tell(`“${f.get('name')}” is set.`);
  refresh();
}
part('set').addEventListener('click', setChosen);
part('chosen').addEventListener('keydown', (event) => {
  if (event.key === 'Enter' && event.target.matches('input')) {
    event.preventDefault();
    setChosen();
  }
});

part('add-block').addEventListener('click', () => {
  const [length, width] = [number('new_length'), number('new_width')];
  if (!(length > 0 && width > 0)) {
    tell('Length and width are numbers above zero.');
    return;
  }
  const u = unit();
  const middle = [number('new_east'), number('new_north')].map((v, i) => (v === null ? view.getCenter()[i] : v * u));
  const name = field('new_name').value.trim() || freeName('Block');
  let feature;
  change([], () => {
    feature = add(new MultiPolygon([[rectangle(middle, length * u, width * u, number('new_direction') ?? 0)]]), name);
    return [feature];
  });
  choose(feature);
  field('new_name').value = '';
  tell(`Added “${name}”, ${plain(length)} by ${plain(width)} ${u === 1 ? 'm' : 'ft'}.`);
});

part('copy').addEventListener('click', () => {
  const f = chosen.item(0);
  const times = Math.round(number('times') ?? 0);
  const gap = number('gap') ?? 0;
  if (!f || !(f.getGeometry() instanceof MultiPolygon) || times < 1 || times > 500) {
    tell('Choose a block, and copy it from 1 to 500 times.');
    return;
  }
  const m = measure(f.getGeometry());
  const [sin, cos] = sinCos(m.direction);
  const by = m.width + gap * unit();
  change([], () =>
    Array.from({ length: times }, (_, i) => {
      const geometry = f.getGeometry().clone();
      geometry.translate((i + 1) * by * cos, -(i + 1) * by * sin);
      return add(geometry, freeName(f.get('name') || 'Block'));
    }),
  );
  tell(`Copied “${f.get('name')}” ${times} times, side by side.`);
  refresh();
});

function remove() {
  const f = chosen.item(0);
  if (!f) return;
  change([f], () => source.removeFeature(f));
  tell(`“${f.get('name') || f.get('kind')}” is deleted.`);
  choose(null);
}
part('delete').addEventListener('click', remove);
part('undo').addEventListener('click', () => history.undo());
part('redo').addEventListener('click', () => history.redo());
const whole = () => {
  if (source.getFeatures().length) view.fit(source.getExtent(), { padding: [40, 40, 40, 40], maxZoom: 24, minResolution: 0.05 });
};
part('whole').addEventListener('click', whole);
part('in').addEventListener('click', () => view.adjustResolution(0.5));
part('out').addEventListener('click', () => view.adjustResolution(2));

// With keys, while the sheet has the focus.
const arrows = { ArrowUp: [0, 1], ArrowDown: [0, -1], ArrowLeft: [-1, 0], ArrowRight: [1, 0] };
target.addEventListener('keydown', (event) => {
  const f = chosen.item(0);
  const arrow = arrows[event.key];
  const by = step(view.getResolution(), unit()) * (event.shiftKey ? 10 : 1);
  if (arrow && f) change([f], () => f.getGeometry().translate(arrow[0] * by, arrow[1] * by));
  else if (arrow) view.adjustCenter([arrow[0] * by * 5, arrow[1] * by * 5]);
  else if ('[]'.includes(event.key) && f?.getGeometry() instanceof MultiPolygon) {
    const m = measure(f.getGeometry());
    const turn = event.key === '[' ? -5 : 5;
    change([f], () => reshape(f.getGeometry(), { direction: m.direction + turn }));
  } else if (event.key === 'Delete' || event.key === 'Backspace') remove();
  else if (event.key === 'Escape') {
    photo.end();
    use('move');
  }
  else if (event.key === '+' || event.key === '=') view.adjustResolution(0.5);
  else if (event.key === '-') view.adjustResolution(2);
  else return;
  event.preventDefault();
  refresh();
});
root.addEventListener('keydown', (event) => {
  if (!(event.ctrlKey || event.metaKey) || event.target.matches('input')) return;
  const key = event.key.toLowerCase();
  if (key === 'z' && !event.shiftKey) history.undo();
  else if (key === 'y' || (key === 'z' && event.shiftKey)) history.redo();
  else return;
  event.preventDefault();
});

// From the book and back.
async function load() {
  const answer = await fetch('/ground/draw/sheet');
  const sheet = await answer.json();
  store.take(source, sheet);
  history.clear();
  beneath.lay(sheet.picture);
  choose(null);
}
part('keep').addEventListener('click', async () => {
  const drawn = store.changes(source);
  const since = field('since').value.trim();
  drawn.since = since === '' ? null : Number(since);
  part('keep').disabled = true;
  try {
    const answer = await send(drawn);
    if (answer.kept) await load();
    tell(answer.said);
  } catch {
    tell('The program did not answer; what you drew is still on the sheet. Start it again and keep the drawing then.');
  }
  refresh();
});
window.addEventListener('beforeunload', (event) => {
  if (count(store.changes(source)) > 0) event.preventDefault();
});

part('tool-photo').hidden = !root.dataset.picture;
await ready();
await load();
map.updateSize();
whole();
use('move');
root.dataset.ready = 'yes';
