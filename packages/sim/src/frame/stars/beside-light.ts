/**
 * Light beyond a ring's outer edge that the ring does not explain: a neighbor's, whose own place may lie off
 * the frame.
 */
import { estimateBackground } from '@holdfast/centroid';
import type { Image } from '@holdfast/psf';
import { imageHeight, imageWidth } from '@holdfast/psf/internal';
import type { Estimate } from '../../trials/statistics.ts';
import type { RingFound } from '../rings/ring-fit.ts';

const sectors = 8;
/** Fewer pixels than this in a sector say nothing. */
const leastPixels = 12;

/**
 * Brightest of eight sectors beyond the ring's edge (from 1.5 FWHM of its blur to `reachPx`), above the
 * background between them, as a fraction of the ring's own mean brightness. Undefined when there is too
 * little sky.
 *
 * @param ring  in the coordinates of the stamp
 */
export function brightestBeside(
  stamp: Image,
  valid: Uint8Array,
  ring: RingFound,
  reachPx: number,
): Estimate | undefined {
  const width = imageWidth(stamp);
  const height = imageHeight(stamp);
  const inner = ring.outerDiameterPx.value / 2 + 1.5 * ring.blurFwhmPx.value;
  const outside = new Uint8Array(width * height);
  const sum = new Float64Array(sectors);
  const count = new Float64Array(sectors);
  for (let y = 0, k = 0; y < height; y++)
    for (let x = 0; x < width; x++, k++) {
      const dx = x - ring.x.value;
      const dy = y - ring.y.value;
      const r2 = dx * dx + dy * dy;
      if (!valid[k] || r2 <= inner * inner || r2 > reachPx * reachPx) continue;
      outside[k] = 1;
      // octants by signs and by which side is longer
      const sector = (dx < 0 ? 1 : 0) + (dy < 0 ? 2 : 0) + (Math.abs(dx) < Math.abs(dy) ? 4 : 0);
      sum[sector] += stamp.data[k];
      count[sector]++;
    }
  const sky = estimateBackground(stamp, { valid: outside });
  if (!sky.ok) return undefined;
  const area = (Math.PI / 4) * (ring.outerDiameterPx.value ** 2 - ring.innerDiameterPx.value ** 2);
  const brightness = ring.fluxE.value / area;
  let brightest: Estimate | undefined;
  for (let sector = 0; sector < sectors; sector++) {
    if (count[sector] < leastPixels) continue;
    const value = (sum[sector] / count[sector] - sky.level) / brightness;
    const standardError = Math.sqrt(sky.sigma ** 2 / count[sector] + sky.levelSigma ** 2) / brightness;
    if (brightest === undefined || value > brightest.value) brightest = { value, standardError };
  }
  return brightest;
}
