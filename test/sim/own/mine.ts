/** An estimator as a user writes one: center of mass of what stands out, in a circle that follows it. */
import type { OwnEstimator } from '@holdfast/sim';

const reachPx = 7;

const mine: OwnEstimator = {
  name: 'mine',
  module: import.meta.url,
  prepare({ width, height }, { noise: { readNoiseE } }) {
    return (image, guess, background = 0) => {
      const pixels = image instanceof Float64Array ? image : image.data;
      if (pixels.length !== width * height) throw new RangeError(`image must have ${width} x ${height} px`);
      const level = typeof background === 'number' ? background : background.level;
      let { x, y } = guess ?? { x: (width - 1) / 2, y: (height - 1) / 2 };
      let flux = 0;
      // About where the light was the last time: the circle follows the star.
      for (let round = 0; round < 12; round++) {
        const [atX, atY] = [x, y];
        let sumX = 0;
        let sumY = 0;
        flux = 0;
        for (let row = 0, k = 0; row < height; row++)
          for (let column = 0; column < width; column++, k++) {
            const far2 = ((column - atX) ** 2 + (row - atY) ** 2) / reachPx ** 2;
            const light = pixels[k] - level - 3 * Math.sqrt(level + readNoiseE * readNoiseE);
            if (!(light > 0 && light < 1e9 && far2 < 1)) continue;
            const weight = light * (1 - far2) ** 2;
            flux += weight;
            sumX += weight * (column - atX);
            sumY += weight * (row - atY);
          }
        if (!(flux > 0)) return { ok: false, reason: 'no-flux' };
        x = atX + sumX / flux;
        y = atY + sumY / flux;
      }
      return { ok: true, x, y, flux, iterations: 12 };
    };
  },
};

export default mine;
