/** Sum, center of mass and second moments of the light in an image. */
export interface LightMoments {
  readonly sum: number;
  /** Center of mass, px. */
  readonly x: number;
  readonly y: number;
  /** Mean square distances from it, px^2. */
  readonly xx: number;
  readonly yy: number;
  readonly xy: number;
}

/** @param image  row-major pixels, `width` a row */
export function lightMoments(image: Float64Array, width: number): LightMoments {
  const total = (value: (i: number, j: number) => number): number =>
    image.reduce((so, light, k) => so + light * value(k % width, Math.floor(k / width)), 0);
  const sum = total(() => 1);
  const x = total((i) => i) / sum;
  const y = total((_, j) => j) / sum;
  return {
    sum,
    x,
    y,
    xx: total((i) => (i - x) ** 2) / sum,
    yy: total((_, j) => (j - y) ** 2) / sum,
    xy: total((i, j) => (i - x) * (j - y)) / sum,
  };
}
