// Steps back and forward through what was drawn and not kept yet.

/** What of a feature can change; `null` where it is not on the sheet. */
const state = (source, feature) =>
  source.hasFeature(feature)
    ? { geometry: feature.getGeometry().clone(), name: feature.get('name'), kind: feature.get('kind'), width: feature.get('width') }
    : null;

export class History {
  #source;
  #done = [];
  #undone = [];
  #before = null;
  #told;

  constructor(source, told) {
    this.#source = source;
    this.#told = told;
  }

  /** Remembers how features are before they change. */
  begin(features) {
    this.#before = new Map(features.map((f) => [f, state(this.#source, f)]));
  }

  /** Forgets the beginning of a step that came to nothing. */
  drop() {
    this.#before = null;
  }

  /** Closes a step; features that were not there at its beginning count as new. */
  end(features = []) {
    const before = this.#before ?? new Map();
    for (const feature of features) if (!before.has(feature)) before.set(feature, null);
    this.#done.push([...before].map(([feature, was]) => ({ feature, was, is: state(this.#source, feature) })));
    this.#undone = [];
    this.#before = null;
    this.#told();
  }

  /** A step of something that is no feature: `set` lays it as it was or is. */
  note(set, was, is) {
    this.#done.push([{ set, was, is }]);
    this.#undone = [];
    this.#told();
  }

  undo() {
    this.#step(this.#done, this.#undone, 'was');
  }

  redo() {
    this.#step(this.#undone, this.#done, 'is');
  }

  #step(from, to, side) {
    const step = from.pop();
    if (!step) return;
    for (const change of step) {
      const { feature } = change;
      const want = change[side];
      if (change.set) {
        change.set(want);
        continue;
      }
      const there = this.#source.hasFeature(feature);
      if (!want) {
        if (there) this.#source.removeFeature(feature);
        continue;
      }
      feature.setGeometry(want.geometry.clone());
      feature.set('name', want.name);
      feature.set('kind', want.kind);
      feature.set('width', want.width);
      if (!there) this.#source.addFeature(feature);
    }
    to.push(step);
    this.#told();
  }

  clear() {
    this.#done = [];
    this.#undone = [];
    this.#told();
  }

  get canUndo() {
    return this.#done.length > 0;
  }

  get canRedo() {
    return this.#undone.length > 0;
  }
}
