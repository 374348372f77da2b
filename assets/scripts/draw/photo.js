// Lays the photo beneath the sheet by places in it: each is clicked, or typed, with where it lies.
import { onPicture, onSheet } from './beneath.js';
import { FONT } from './look.js';
import { askFit } from './store.js';

const CLAY = '#8a3519';

export class Photo {
  #root;
  #use;
  #pick = null;

  /** `use` gives the store, the picture, the layer, the unit in metres, and what tells and remembers. */
  constructor(root, use) {
    this.#root = root;
    this.#use = use;
    for (const button of root.querySelectorAll('[data-pick]')) {
      button.addEventListener('click', () => this.#begin(button));
    }
    root.querySelector('[data-draw="fit"]').addEventListener('click', () => this.#fit());
    root.addEventListener('input', () => use.layer.changed());
    use.layer.on('postrender', ({ context, frameState }) => this.#dots(context, frameState));
  }

  #field(name, at) {
    return this.#root.querySelector(`[name="photo_${name}${at}"]`);
  }

  #pair(names, at) {
    const values = names.map((name) => this.#field(name, at).value.trim().replace(',', ''));
    const numbers = values.map(Number);
    return values.some((v) => v === '') || !numbers.every(Number.isFinite) ? null : numbers;
  }

  /** Every place that is begun: its number, its points in the picture and where it lies, metres. */
  #places() {
    const unit = this.#use.unit();
    return [1, 2, 3, 4]
      .map((at) => ({
        at,
        point: this.#pair(['across', 'down'], at),
        ground: this.#pair(['east', 'north'], at)?.map((v) => v * unit) ?? null,
      }))
      .filter((p) => p.point);
  }

  #begin(button) {
    if (!this.#use.store.picture) {
      this.#use.tell('No photo lies beneath the sheet yet; lay one there first, where the blocks lie.');
      return;
    }
    this.#pick = button.dataset.pick;
    this.#use.free();
    const [what, at] = this.#pick.split('-');
    this.#use.tell(what === 'photo' ? `Click place ${at} as it shows on the photo.` : `Click where place ${at} lies on the sheet.`);
  }

  /** Whether the next click on the sheet is a place of the photo. */
  get picking() {
    return this.#pick !== null;
  }

  end() {
    this.#pick = null;
  }

  /** Takes a click on the sheet; says whether it was asked for. */
  click(coordinate) {
    if (!this.#pick) return false;
    const [what, at] = this.#pick.split('-');
    this.#pick = null;
    if (what === 'photo') {
      const [across, down] = onPicture(this.#use.store.picture, coordinate);
      this.#field('across', at).value = across.toFixed(1);
      this.#field('down', at).value = down.toFixed(1);
      this.#use.tell(`Place ${at} is taken on the photo. Now click where it lies, or type it.`);
    } else {
      const [east, north] = coordinate.map((v) => v / this.#use.unit());
      this.#field('east', at).value = east.toFixed(2);
      this.#field('north', at).value = north.toFixed(2);
      this.#use.tell(`Place ${at} lies there. With two places, lay the photo so.`);
    }
    this.#use.layer.changed();
    return true;
  }

  async #fit() {
    const { store, history, unit, tell, lay } = this.#use;
    const held = store.picture;
    if (!held) {
      tell('No photo lies beneath the sheet yet; lay one there first, where the blocks lie.');
      return;
    }
    const typed = this.#root.querySelector('[name="photo_apart"]').value.trim().replace(',', '');
    const apart = typed === '' ? null : Number(typed) * unit();
    if (apart !== null && !(apart > 0)) {
      tell(`“${typed}” is no distance above zero.`);
      return;
    }
    const places = this.#places().map((p) => [p.point, p.ground]);
    const answer = await askFit({ frame: store.frame, held, places, distance: apart });
    if (!answer.kept) {
      tell(answer.said);
      return;
    }
    lay(answer.place);
    history.note(lay, held, answer.place);
    const off = (answer.worst / unit()).toFixed(1);
    const units = unit() === 1 ? 'm' : 'ft';
    tell(`The photo is laid so; every place fits within ${off} ${units}. Keep the drawing to keep it there.`);
  }

  /** The places on the photo and where they lie, each with its number. */
  #dots(context, { viewState, size, pixelRatio }) {
    if (this.#root.hidden || !this.#use.store.picture) return;
    const { center, resolution } = viewState;
    const pixel = ([x, y]) => [size[0] / 2 + (x - center[0]) / resolution, size[1] / 2 - (y - center[1]) / resolution];
    context.save();
    context.setTransform(pixelRatio, 0, 0, pixelRatio, 0, 0);
    context.font = FONT;
    context.lineWidth = 2;
    for (const { at, point, ground } of this.#places()) {
      for (const [place, color] of [[onSheet(this.#use.store.picture, point), CLAY], [ground, '#1f5c74']]) {
        if (!place) continue;
        const [x, y] = pixel(place);
        context.strokeStyle = context.fillStyle = color;
        context.beginPath();
        context.arc(x, y, 5, 0, 2 * Math.PI);
        context.stroke();
        context.fillText(String(at), x + 8, y + 4);
      }
    }
    context.restore();
  }
}
