/** The light of the other stars, so that each can be measured as if it were alone. */
import type { FoundStar } from '@holdfast/centroid';
import { prepareStar, type StarShape } from '@holdfast/psf';
import type { FrameRegion } from './frame-region.ts';
import type { MeasuredStar } from './measured-star.ts';
import { type ElectronFrame, fitRadius, windowRadius } from './star-window.ts';

/**
 * Whether the light of `other` may reach what `star` is measured in; its sky leaves out other stars anyway.
 */
export function reaches(other: FoundStar, star: FoundStar): boolean {
  const distance = Math.sqrt((other.x - star.x) ** 2 + (other.y - star.y) ** 2);
  return distance < fitRadius(star) + windowRadius(other);
}

/** A measured star as it can be drawn, where its fit puts it; undefined when nothing was fitted. */
function drawable({
  likeness,
  ring,
  positions,
}: MeasuredStar): { shape: StarShape; x: number; y: number; flux: number } | undefined {
  if (likeness === undefined) return undefined;
  if (ring.ok) return { shape: likeness, x: ring.x.value, y: ring.y.value, flux: ring.fluxE.value };
  const fit = likeness.kind === 'gaussian' ? positions.gaussianFit : positions.templateFit;
  return fit.ok ? { shape: likeness, x: fit.x, y: fit.y, flux: fit.flux } : undefined;
}

/** Those of the stars that `addNeighbors` cannot draw. */
export const undrawable = (stars: readonly MeasuredStar[]): MeasuredStar[] =>
  stars.filter((star) => drawable(star) === undefined);

/** Add the stars that can be drawn to `out`, the pixels of a part of the frame. */
export function addNeighbors(
  out: Float64Array,
  part: FrameRegion,
  frame: ElectronFrame,
  stars: readonly MeasuredStar[],
): void {
  for (const star of stars) {
    const drawn = drawable(star);
    if (drawn === undefined) continue;
    addStar(out, part, frame, drawn.shape, drawn.x, drawn.y, drawn.flux, 2 * windowRadius(star.found));
  }
}

/** Add one star to `out`, the pixels of a part of the frame, out to `reach` px from it. */
export function addStar(
  out: Float64Array,
  part: FrameRegion,
  frame: ElectronFrame,
  shape: StarShape,
  x: number,
  y: number,
  flux: number,
  reach: number,
): void {
  const left = Math.max(0, Math.floor(x - reach));
  const top = Math.max(0, Math.floor(y - reach));
  const width = Math.min(frame.width - 1, Math.ceil(x + reach)) - left + 1;
  const height = Math.min(frame.height - 1, Math.ceil(y + reach)) - top + 1;
  if (width < 1 || height < 1) return;
  const stamp = new Float64Array(width * height);
  prepareStar(shape, { width, height }).renderInto(stamp, x - left, y - top, flux);
  const right = Math.min(left + width, part.left + part.width);
  const bottom = Math.min(top + height, part.top + part.height);
  for (let v = Math.max(top, part.top); v < bottom; v++)
    for (let u = Math.max(left, part.left); u < right; u++)
      out[(v - part.top) * part.width + u - part.left] += stamp[(v - top) * width + u - left];
}
