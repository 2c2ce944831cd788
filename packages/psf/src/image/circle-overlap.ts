/** The area that a circle shares with each pixel, exactly. */

/** Scratch of `addCircleOverlap`: one value a pixel border. */
export interface OverlapScratch {
  /** Length width + 1. */
  readonly borders: Float64Array;
  /** Length width + 1. */
  readonly strips: Float64Array;
  /** Length width + 1. */
  readonly below: Float64Array;
}

export function overlapScratch(width: number): OverlapScratch {
  return {
    borders: new Float64Array(width + 1),
    strips: new Float64Array(width + 1),
    below: new Float64Array(width + 1),
  };
}

/**
 * Area of the segment of a circle around the origin that lies at u < x and above the x axis:
 *
 *   integral from -R to x of sqrt(R^2 - u^2) du = (x sqrt(R^2 - x^2) + R^2 (pi / 2 + asin(x / R))) / 2
 *
 * @param x in [-R, R]
 */
function halfSegmentArea(x: number, radius: number): number {
  const height = Math.sqrt((radius - x) * (radius + x));
  // asin by halving the angle: engines agree on every bit of a square root, not on those of an arcsine.
  let tangent = x / (radius + height);
  let halvings = 2;
  for (; halvings < 16; halvings *= 2) tangent /= 1 + Math.sqrt(1 + tangent * tangent);
  const square = tangent * tangent;
  let series = 0;
  for (let n = 19; n > 0; n -= 2) series = 1 / n - square * series;
  const angle = halvings * tangent * series;
  return 0.5 * (x * height + radius * radius * (Math.PI / 2 + angle));
}

/**
 * Add `weight` times the area of overlap with the circle to each pixel.
 *
 * The area A(x, y) of the circle at u < x, v < y is known in closed form at every pixel corner; a pixel holds
 * its second difference. For y >= 0, with a = sqrt(R^2 - y^2) and S = `halfSegmentArea`,
 *
 *   A(x, y) = 2 S(x) up to x = -a, then grows by S(x) + y x up to x = a, then by 2 S(x) again; A(x, -y) = 2
 *   S(x) - A(x, y).
 *
 * @param out     row-major pixels
 * @param x, y    center of the circle, px
 * @param radius  px, > 0
 */
export function addCircleOverlap(
  out: Float64Array,
  width: number,
  height: number,
  x: number,
  y: number,
  radius: number,
  weight: number,
  { borders, strips, below }: OverlapScratch,
): void {
  const firstRow = Math.max(0, Math.ceil(y - radius - 0.5));
  const lastRow = Math.min(height - 1, Math.floor(y + radius + 0.5));
  for (let i = 0; i <= width; i++) {
    borders[i] = Math.max(-radius, Math.min(radius, i - 0.5 - x));
    strips[i] = halfSegmentArea(borders[i], radius);
  }
  for (let j = firstRow; j <= lastRow + 1; j++) {
    const border = Math.max(-radius, Math.min(radius, j - 0.5 - y));
    const high = Math.abs(border);
    const a = Math.sqrt((radius - high) * (radius + high));
    const left = halfSegmentArea(-a, radius);
    const right = halfSegmentArea(a, radius);
    let k = (j - 1) * width;
    let before = 0;
    for (let i = 0; i <= width; i++) {
      const u = borders[i];
      const strip = strips[i];
      let area = 2 * strip;
      if (u > -a) area = u < a ? left + strip + high * (u + a) : area + left - right + 2 * high * a;
      if (border < 0) area = 2 * strip - area;
      const step = area - below[i];
      below[i] = area;
      if (j > firstRow && i > 0) {
        out[k] += weight * (step - before);
        k++;
      }
      before = step;
    }
  }
}
