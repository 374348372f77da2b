// The photo or scan under the sheet, stretched and turned to where it lies.

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
}
