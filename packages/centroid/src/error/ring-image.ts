/** The expected image of a star or ring, drawn well enough to choose an estimator by: right to about 1 %. */
import { normalInto } from '@holdfast/psf/numerics';
import { createPixelProfile, fillProfile } from '../gaussian/pixel-gaussian.ts';
import { gaussianFwhmPerSigma } from '../moments/weighted-sums.ts';

export interface RingStar {
  /** Full width at half maximum of the blur, that is of the star in focus, px. */
  readonly fwhmPx: number;
  /** Outer diameter of the ring, px; 0 in focus. Default 0. */
  readonly outerDiameterPx?: number;
  /** Inner over outer diameter, in [0, 1). Default 0. */
  readonly obstructionRatio?: number;
  /** Electrons of the star. */
  readonly fluxE: number;
}

/** Points a pixel, along a side, at which a ring is sampled before it is blurred; and at which a small one is. */
const finePerPixel = 3;
const finestPerPixel = 7;
const smallRadiusPx = 6;

/** A ring of a smaller radius, px, is as good as a Gaussian of its second moment. */
const leastRadiusPx = 0.5;

/** Row-major electrons per pixel, side * side, of a star centred on (x, y). */
export function drawRing(
  { fwhmPx, outerDiameterPx = 0, obstructionRatio = 0, fluxE }: RingStar,
  side: number,
  x: number,
  y: number,
): Float64Array {
  const sigma = fwhmPx / gaussianFwhmPerSigma;
  const outer = outerDiameterPx / 2;
  const inner = obstructionRatio * outer;
  return outer < leastRadiusPx
    ? drawGaussian(Math.sqrt(sigma * sigma + (outer * outer + inner * inner) / 4), fluxE, side, x, y)
    : drawAnnulus(outer, inner, sigma, fluxE, side, x, y);
}

function drawGaussian(sigma: number, flux: number, side: number, x: number, y: number): Float64Array {
  const columns = createPixelProfile(side);
  const rows = createPixelProfile(side);
  fillProfile(columns, side, 0, x, sigma);
  fillProfile(rows, side, 0, y, sigma);
  return Float64Array.from(
    { length: side * side },
    (_, k) => flux * columns.share[k % side] * rows.share[Math.floor(k / side)],
  );
}

function drawAnnulus(
  outer: number,
  inner: number,
  sigma: number,
  flux: number,
  side: number,
  x: number,
  y: number,
): Float64Array {
  const q = outer < smallRadiusPx ? finestPerPixel : finePerPixel;
  const fineSide = side * q;
  const fine = new Float64Array(fineSide * fineSide);
  for (let j = 0, k = 0; j < fineSide; j++)
    for (let i = 0; i < fineSide; i++, k++) {
      const dx = (i + 0.5) / q - 0.5 - x;
      const dy = (j + 0.5) / q - 0.5 - y;
      const r = Math.sqrt(dx * dx + dy * dy);
      // Near an edge the part of the fine pixel within it, as if it were cut straight across.
      fine[k] = share((outer - r) * q) - share((inner - r) * q);
    }
  const weights = blurWeights(sigma * q);
  const along = new Float64Array(fine.length);
  blurLines(along, fine, fineSide, fineSide, 1, weights);
  blurLines(fine, along, fineSide, 1, fineSide, weights);
  const out = new Float64Array(side * side);
  let sum = 0;
  for (let j = 0, k = 0; j < fineSide; j++)
    for (let i = 0; i < fineSide; i++, k++) {
      out[Math.floor(j / q) * side + Math.floor(i / q)] += fine[k];
      sum += fine[k];
    }
  for (let k = 0; k < out.length; k++) out[k] *= flux / sum;
  return out;
}

const share = (inside: number): number => Math.min(1, Math.max(0, inside + 0.5));

function blurWeights(sigma: number): Float64Array {
  const reach = Math.ceil(4 * sigma);
  const normal = new Float64Array(2);
  return Float64Array.from({ length: 2 * reach + 1 }, (_, i) => {
    normalInto(normal, (i - reach + 0.5) / sigma);
    const upper = normal[0];
    normalInto(normal, (i - reach - 0.5) / sigma);
    return upper - normal[0];
  });
}

function blurLines(
  out: Float64Array,
  values: Float64Array,
  side: number,
  lineStride: number,
  pixelStride: number,
  weights: Float64Array,
): void {
  const reach = (weights.length - 1) / 2;
  for (let line = 0; line < side; line++)
    for (let i = 0; i < side; i++) {
      let sum = 0;
      const from = Math.max(0, reach - i);
      const to = Math.min(weights.length, side + reach - i);
      let at = line * lineStride + (i - reach + from) * pixelStride;
      for (let k = from; k < to; k++, at += pixelStride) sum += weights[k] * values[at];
      out[line * lineStride + i * pixelStride] = sum;
    }
}
