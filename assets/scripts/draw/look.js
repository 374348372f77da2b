// How the sheet looks: paper, ink, a grid in feet or metres, names where they fit.
import Fill from 'ol/style/Fill.js';
import Stroke from 'ol/style/Stroke.js';
import Style from 'ol/style/Style.js';
import Text from 'ol/style/Text.js';
import CircleStyle from 'ol/style/Circle.js';
import MultiLineString from 'ol/geom/MultiLineString.js';
import { getVectorContext } from 'ol/render.js';

const INK = '#22211e';
const block = new Style({
  fill: new Fill({ color: 'rgba(238,233,221,0.75)' }),
  stroke: new Stroke({ color: '#5f4a25', width: 1.5 }),
});
const chosen = new Style({
  fill: new Fill({ color: 'rgba(216,201,166,0.8)' }),
  stroke: new Stroke({ color: '#8a3519', width: 3 }),
});
const mark = (color, dash) =>
  new Style({
    fill: new Fill({ color: 'rgba(31,92,116,0.15)' }),
    stroke: new Stroke({ color, width: 2, lineDash: dash }),
    image: new CircleStyle({ radius: 6, fill: new Fill({ color: '#fffdf9' }), stroke: new Stroke({ color, width: 2 }) }),
  });
const marks = {
  well: mark('#1f5c74'),
  water: mark('#1f5c74', [8, 4]),
  sinkhole: mark('#1f5c74', [2, 3]),
  road: mark('#55524b', [2, 3]),
  fence: mark('#55524b', [10, 3, 2, 3]),
  building: mark(INK),
  tree: mark('#3f5a2a'),
  other: mark('#55524b'),
};
const markChosen = mark('#8a3519');
/** What the sheet is lettered in: the page's own face. */
export const FONT = `600 13px ${getComputedStyle(document.documentElement).getPropertyValue('--sans')}`;

/** A canvas does not wait for a face by itself. */
export const ready = () => document.fonts.load(FONT);

/** A line as wide as it is on the ground, beneath its middle; nothing where that is thinner than its stroke. */
function across(feature, resolution) {
  const wide = (feature.get('width') ?? 0) / resolution;
  if (wide < 3 || feature.getGeometry().getType() !== 'LineString') return [];
  return [new Style({ stroke: new Stroke({ color: 'rgba(31,92,116,0.22)', width: wide, lineCap: 'round' }) })];
}

const named = new Map();
function name(text) {
  let style = named.get(text);
  if (!style) {
    style = new Style({
      text: new Text({
        text,
        font: FONT,
        overflow: true,
        fill: new Fill({ color: INK }),
        stroke: new Stroke({ color: 'rgba(255,253,249,0.85)', width: 3 }),
      }),
    });
    named.set(text, style);
  }
  return style;
}

/** The style of a feature; `isChosen` says which one is chosen. */
export const style = (isChosen) => (feature, resolution) => {
  const kind = feature.get('kind');
  const own = isChosen(feature) ? (kind ? markChosen : chosen) : kind ? (marks[kind] ?? marks.other) : block;
  const text = feature.get('name') || kind || '';
  const [w, , e] = feature.getGeometry().getExtent();
  // A name that is wider than its block would only hide others.
  const fits = kind || (e - w) / resolution > text.length * 6;
  if (kind) return [...across(feature, resolution), own, ...(text ? [name(text)] : [])];
  return text && fits ? [own, name(text)] : own;
};

const thin = new Style({ stroke: new Stroke({ color: 'rgba(164,157,141,0.35)', width: 1 }) });
const firm = new Style({ stroke: new Stroke({ color: 'rgba(164,157,141,0.7)', width: 1 }) });

/** The distance of the grid's lines in metres: 1, 2, 5, 10… of the unit, at least 12 points apart. */
export function step(resolution, unit) {
  const least = (12 * resolution) / unit;
  const power = 10 ** Math.floor(Math.log10(least));
  return ([1, 2, 5, 10].find((m) => m * power >= least) ?? 10) * power * unit;
}

/** Draws the grid beneath a layer. */
export function grid(layer, view, unit) {
  layer.on('prerender', (event) => {
    const [w, s, e, n] = event.frameState.extent;
    const by = step(view.getResolution(), unit());
    const context = getVectorContext(event);
    const [light, strong] = [[], []];
    const lines = (from, to, line) => {
      for (let i = Math.ceil(from / by); i * by <= to; i += 1) (i % 10 === 0 ? strong : light).push(line(i * by));
    };
    lines(w, e, (x) => [[x, s], [x, n]]);
    lines(s, n, (y) => [[w, y], [e, y]]);
    context.setStyle(thin);
    context.drawGeometry(new MultiLineString(light));
    context.setStyle(firm);
    context.drawGeometry(new MultiLineString(strong));
  });
}
