// The sheet from the book and back.
import Feature from 'ol/Feature.js';
import LineString from 'ol/geom/LineString.js';
import MultiPolygon from 'ol/geom/MultiPolygon.js';
import Point from 'ol/geom/Point.js';
import Polygon from 'ol/geom/Polygon.js';

const closed = (ring) => [...ring, ring[0]];
const open = (ring) => ring.slice(0, -1);

export function blockFeature({ id, name, parts }) {
  const feature = new Feature(new MultiPolygon(parts.map((rings) => rings.map(closed))));
  feature.setProperties({ id, name });
  return feature;
}

export function markFeature({ id, kind, name, form, at, width }) {
  const geometry = { point: () => new Point(at[0]), line: () => new LineString(at), area: () => new Polygon([closed(at)]) };
  const feature = new Feature(geometry[form]());
  feature.setProperties({ id, kind, name, width });
  return feature;
}

const asBlock = (f) => ({
  id: f.get('id') ?? 0,
  name: f.get('name'),
  parts: f.getGeometry().getCoordinates().map((rings) => rings.map(open)),
});

function asMark(f) {
  const geometry = f.getGeometry();
  const at = geometry.getCoordinates();
  const forms = { Point: () => ['point', [at]], LineString: () => ['line', at], Polygon: () => ['area', open(at[0] ?? [])] };
  const [form, places] = forms[geometry.getType()]();
  return { id: f.get('id') ?? 0, kind: f.get('kind'), name: f.get('name') ?? '', form, at: places, width: f.get('width') ?? null };
}

const same = (a, b) => JSON.stringify(a) === JSON.stringify(b);

/** What was drawn since the sheet came: new and changed things, and the numbers of those that are gone. */
export class Store {
  #held = new Map();
  #placed = null;
  frame;
  /** Where the picture beneath lies; null where there is none. */
  picture = null;

  take(source, sheet) {
    this.frame = sheet.frame;
    this.picture = sheet.picture;
    this.#placed = sheet.picture;
    this.#held.clear();
    source.clear(true);
    const features = [...sheet.blocks.map(blockFeature), ...sheet.marks.map(markFeature)];
    source.addFeatures(features);
    for (const f of features) this.#held.set(f, f.get('kind') ? asMark(f) : asBlock(f));
  }

  changes(source) {
    const drawn = { frame: this.frame, blocks: [], marks: [], gone: [], gone_marks: [] };
    if (!same(this.picture, this.#placed)) drawn.picture = this.picture;
    for (const f of source.getFeatures()) {
      const isMark = Boolean(f.get('kind'));
      const now = isMark ? asMark(f) : asBlock(f);
      if (!same(now, this.#held.get(f))) drawn[isMark ? 'marks' : 'blocks'].push(now);
    }
    for (const [f, was] of this.#held) {
      if (!source.hasFeature(f)) drawn[was.kind ? 'gone_marks' : 'gone'].push(was.id);
    }
    return drawn;
  }
}

export const count = (d) => d.blocks.length + d.marks.length + d.gone.length + d.gone_marks.length + (d.picture ? 1 : 0);

/** Sends what was drawn; gives the sentence of the server where it was refused. */
export const send = (drawn) => post('/ground/draw/keep', drawn);

/** Sends a line along which a block is cut. */
export const sendCut = (cut) => post('/ground/draw/cut', cut);

/** Sends blocks that are laid together. */
export const sendJoin = (join) => post('/ground/draw/join', join);

/** Asks where the picture would lie by its places; nothing is kept. */
export const askFit = (places) => post('/ground/picture/fit', places);

async function post(to, what) {
  const answer = await fetch(to, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify(what),
  });
  const said = await answer.json();
  return { ...said, kept: answer.ok };
}
