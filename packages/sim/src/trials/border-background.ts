/**
 * The background as one must take it at night: from pixels of the same frame that the star does not reach.
 */
import type { Scene } from './scene.ts';

/** Mean of the stamp's pixels beyond the star's radius; a plain mean, since no other star is there. */
export function borderBackground(scene: Scene): {
  /** Expected 1 sigma error of the level, electrons. */
  readonly levelSigma: number;
  /** Level of one frame, electrons per pixel. */
  levelOf(pixels: Float64Array): number;
} {
  const { width, height, column, row } = scene;
  // The star may lie half a pixel off its column and row.
  const inner = scene.radiusPx + 0.75;
  const border: number[] = [];
  for (let y = 0, k = 0; y < height; y++)
    for (let x = 0; x < width; x++, k++)
      if ((x - column) ** 2 + (y - row) ** 2 > inner * inner) border.push(k);
  const index = Uint32Array.from(border);
  return {
    levelSigma: Math.sqrt((scene.backgroundE + scene.pixelNoiseE ** 2) / index.length),
    levelOf(pixels) {
      // Four sums side by side: one would wait for itself.
      let [a, b, c, d] = [0, 0, 0, 0];
      const fours = index.length & ~3;
      for (let i = 0; i < fours; i += 4) {
        a += pixels[index[i]];
        b += pixels[index[i + 1]];
        c += pixels[index[i + 2]];
        d += pixels[index[i + 3]];
      }
      for (let i = fours; i < index.length; i++) a += pixels[index[i]];
      return (a + b + c + d) / index.length;
    },
  };
}
