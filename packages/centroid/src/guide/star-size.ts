/** How wide the light of a star is, and how that changes: of a ring that grows, the focus moves away. */

/**
 * Mean diameter of the light above a threshold about a place, px: twice the mean distance. 0 when there is
 * none.
 */
export function lightDiameter(
  pixels: Float64Array,
  side: number,
  x: number,
  y: number,
  level: number,
  threshold: number,
): number {
  let light = 0;
  let moment = 0;
  for (let row = 0, k = 0; row < side; row++) {
    const dy = row - y;
    for (let column = 0; column < side; column++, k++) {
      const v = pixels[k] - level;
      // A pixel beyond every well is a defect, however it came about.
      if (!(v > threshold && v < 1e30)) continue;
      const dx = column - x;
      light += v;
      moment += v * Math.sqrt(dx * dx + dy * dy);
    }
  }
  return light > 0 ? (2 * moment) / light : 0;
}

/**
 * A straight line through the last values of a series, one per frame; frames without a value are left out.
 */
export class SizeTrend {
  /** Change per frame; 0 until there are three values. */
  slope = 0;
  /** Its 1 sigma error, from the scatter about the line; Infinity until there are three values. */
  slopeError = Infinity;
  readonly #frames: Float64Array;
  readonly #values: Float64Array;
  #added = 0;

  /** @param length  values that the line looks back on, >= 3 */
  constructor(length: number) {
    this.#frames = new Float64Array(length);
    this.#values = new Float64Array(length);
  }

  add(frame: number, value: number): void {
    const at = this.#added % this.#values.length;
    this.#frames[at] = frame;
    this.#values[at] = value;
    this.#added++;
    this.#fit();
  }

  #fit(): void {
    const n = Math.min(this.#added, this.#values.length);
    if (n < 3) return;
    let meanFrame = 0;
    let meanValue = 0;
    for (let k = 0; k < n; k++) {
      meanFrame += this.#frames[k] / n;
      meanValue += this.#values[k] / n;
    }
    let xx = 0;
    let xy = 0;
    let yy = 0;
    for (let k = 0; k < n; k++) {
      const dx = this.#frames[k] - meanFrame;
      const dy = this.#values[k] - meanValue;
      xx += dx * dx;
      xy += dx * dy;
      yy += dy * dy;
    }
    this.slope = xy / xx;
    this.slopeError = Math.sqrt(Math.max(0, yy - this.slope * xy) / (n - 2) / xx);
  }
}
