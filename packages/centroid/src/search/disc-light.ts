/** The light of a round part of a frame above a level that may slope. */

/** Level at a place, electrons per pixel, and its slopes, per px. */
export interface LightLevel {
  readonly x: number;
  readonly y: number;
  readonly level: number;
  readonly slopeX: number;
  readonly slopeY: number;
}

/**
 * Every usable pixel within `reach` of (x, y): distance, and light above the level that was found about the
 * star.
 */
export function forDisc(
  pixels: Float32Array,
  width: number,
  height: number,
  { x: x0, y: y0, level, slopeX, slopeY }: LightLevel,
  x: number,
  y: number,
  reach: number,
  see: (r: number, value: number, dx: number, dy: number) => void,
): void {
  const bottom = Math.min(height - 1, Math.floor(y + reach));
  const right = Math.min(width - 1, Math.floor(x + reach));
  for (let j = Math.max(0, Math.ceil(y - reach)); j <= bottom; j++)
    for (let i = Math.max(0, Math.ceil(x - reach)); i <= right; i++) {
      const r = Math.sqrt((i - x) ** 2 + (j - y) ** 2);
      const value = pixels[j * width + i] - level - slopeX * (i - x0) - slopeY * (j - y0);
      if (r < reach && Number.isFinite(value)) see(r, value, i - x, j - y);
    }
}
