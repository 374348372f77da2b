// The photo or scan under the sheet, stretched and turned to where it lies.

import { sinCos } from './measure.js';

export class Beneath {
  #image = null;
  #place = null;

  constructor(layer) {
    layer.on('prerender', ({ context, frameState }) => {
      if (!this.#image) return;
      const { middle, width, turned, pixels } = this.#place;
      const { pixelRatio, viewState, size } = frameState;
      const { center, resolution } = viewState;
      context.save();
      context.setTransform(pixelRatio, 0, 0, pixelRatio, 0, 0);
      context.translate(size[0] / 2 + (middle[0] - center[0]) / resolution, size[1] / 2 - (middle[1] - center[1]) / resolution);
      context.rotate((turned * Math.PI) / 180);
      const [wide, high] = [width, (width * pixels[1]) / pixels[0]].map((v) => v / resolution);
      context.globalAlpha = 0.7;
      context.drawImage(this.#image, -wide / 2, -high / 2, wide, high);
      context.restore();
    });
    this.layer = layer;
  }

  /** Lays a picture where the book says, or takes it away. */
  lay(place) {
    this.#image = null;
    this.#place = place;
    if (!place) return;
    const image = new Image();
    image.addEventListener('load', () => {
      this.#image = image;
      this.layer.changed();
    });
    image.src = '/ground/picture';
  }

  /** The same picture elsewhere. */
  move(place) {
    this.#place = place;
    this.layer.changed();
  }
}

/** A place of the sheet as points of the picture, from the left and from above. */
export function onPicture({ middle, width, turned, pixels }, [x, y]) {
  const [sin, cos] = sinCos(turned);
  const [dx, dy] = [x - middle[0], y - middle[1]];
  const metres = width / pixels[0];
  return [pixels[0] / 2 + (dx * cos - dy * sin) / metres, pixels[1] / 2 - (dx * sin + dy * cos) / metres];
}

/** Points of the picture as a place of the sheet. */
export function onSheet({ middle, width, turned, pixels }, [across, down]) {
  const [sin, cos] = sinCos(turned);
  const metres = width / pixels[0];
  const [dx, dy] = [(across - pixels[0] / 2) * metres, (pixels[1] / 2 - down) * metres];
  return [middle[0] + dx * cos + dy * sin, middle[1] - dx * sin + dy * cos];
}
