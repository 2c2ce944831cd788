/**
 * Light beyond a ring's outer edge on one side of it: a neighbor's, whose own place may lie off the frame.
 * The wings of the air lie on all sides, and a gradient of the background raises one side as it lowers the
 * other: neither counts.
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
 * Brightest of eight sectors beyond the ring's edge (from 1.5 FWHM of its blur to `reachPx`), as a fraction
 * of the ring's own mean brightness: twice what the mean of it and its opposite has above that of the two
 * darkest such pairs. Undefined when fewer than three pairs have sky enough.
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
  const pairs: { level: number; variance: number }[] = [];
  for (let sector = 0; sector < sectors; sector++) {
    // both signs of the octant turned
    const opposite = sector ^ 3;
    if (opposite < sector || count[sector] < leastPixels || count[opposite] < leastPixels) continue;
    pairs.push({
      level: (sum[sector] / count[sector] + sum[opposite] / count[opposite]) / 2,
      variance: (sky.sigma ** 2 * (1 / count[sector] + 1 / count[opposite])) / 4,
    });
  }
  if (pairs.length < 3) return undefined;
  pairs.sort((a, b) => a.level - b.level);
  const [first, second] = pairs;
  const top = pairs[pairs.length - 1];
  return {
    value: (2 * top.level - first.level - second.level) / brightness,
    standardError: Math.sqrt(4 * top.variance + first.variance + second.variance) / brightness,
  };
}
