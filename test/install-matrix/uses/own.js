/** An own estimator in a module of its own: the center of mass of what stands out. */
export default {
  name: 'own',
  module: import.meta.url,
  prepare({ width, height }) {
    return (image, _, background = 0) => {
      let sum = 0;
      let sumX = 0;
      let sumY = 0;
      for (let y = 0, k = 0; y < height; y++)
        for (let x = 0; x < width; x++, k++) {
          const light = Math.max(0, image[k] - background - 20);
          sum += light;
          sumX += light * x;
          sumY += light * y;
        }
      if (!(sum > 0)) return { ok: false, reason: 'no-flux' };
      return { ok: true, x: sumX / sum, y: sumY / sum, flux: sum, iterations: 1 };
    };
  },
};
