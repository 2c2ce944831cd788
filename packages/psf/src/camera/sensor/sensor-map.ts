/**
 * A number for each pixel of one sensor, the same on every frame. A stamp is a window of the sensor: where it
 * lies decides which numbers are in it, and two windows agree where they overlap.
 *
 * The sensor is drawn by tiles, each from a stream of its own, so a small window costs the few tiles that it
 * touches.
 */
import type { RandomStream } from '../../chance/random.ts';
import type { ImageSize } from '../../shapes/star-plan.ts';

/** Side of a tile, px. The maps of a sensor change when this does. */
const tileSide = 32;
/** Windows of up to this many tiles keep what they have drawn, so that a stamp that moves on draws little. */
const mostTilesKept = 100;

export interface SensorMap {
  /** Numbers of the window's pixels, row by row. */
  readonly values: Float64Array;
  /** Put the window's first pixel on column `originX` and row `originY` of the sensor. */
  moveTo(originX: number, originY: number): void;
}

/**
 * A map of which nothing is drawn before the first `moveTo`.
 *
 * @param random  stream of this map; each tile draws from a child of it
 * @param draw    number of one pixel from the tile's stream
 */
export function prepareSensorMap(
  random: RandomStream,
  draw: (random: RandomStream) => number,
  { width, height }: ImageSize,
): SensorMap {
  const values = new Float64Array(width * height);
  const across = Math.ceil((width - 1) / tileSide) + 1;
  const down = Math.ceil((height - 1) / tileSide) + 1;
  const keep = across * down <= mostTilesKept;
  const kept = new Map<number, Float64Array>();
  const scratch = new Float64Array(tileSide * tileSide);
  let windowX = Number.NaN;
  let windowY = Number.NaN;

  function tileAt(tileX: number, tileY: number): Float64Array {
    const key = tileY * 65536 + tileX; // tiles along a side stay far below 2^16
    const known = kept.get(key);
    if (known) return known;
    const tile = keep ? new Float64Array(tileSide * tileSide) : scratch;
    const stream = random.stream(tileX, tileY);
    for (let k = 0; k < tile.length; k++) tile[k] = draw(stream);
    if (keep) kept.set(key, tile);
    return tile;
  }

  return {
    values,
    moveTo(originX, originY) {
      if (originX === windowX && originY === windowY) return;
      windowX = originX;
      windowY = originY;
      const endX = originX + width;
      const endY = originY + height;
      for (let tileY = Math.floor(originY / tileSide); tileY * tileSide < endY; tileY++)
        for (let tileX = Math.floor(originX / tileSide); tileX * tileSide < endX; tileX++) {
          const tile = tileAt(tileX, tileY);
          const fromX = Math.max(originX, tileX * tileSide);
          const toX = Math.min(endX, (tileX + 1) * tileSide);
          const fromY = Math.max(originY, tileY * tileSide);
          const toY = Math.min(endY, (tileY + 1) * tileSide);
          for (let y = fromY; y < toY; y++) {
            const from = (y - tileY * tileSide) * tileSide - tileX * tileSide;
            const to = (y - originY) * width - originX;
            for (let x = fromX; x < toX; x++) values[to + x] = tile[from + x];
          }
        }
    },
  };
}
