/** A star of the sheet, drawn and measured on its own stamp without noise. */
import {
  lightCentroid,
  type PupilWave,
  prepareShortExposure,
  prepareStar,
  randomStream,
  type StarShape,
} from '@holdfast/psf';
import type { SheetStar } from './stars.ts';

interface Point {
  readonly x: number;
  readonly y: number;
}

/** Lengths in px, light as a share of the star's. */
export interface MeasuredStar extends SheetStar {
  /** Row-major, side * side. */
  readonly pixels: Float64Array;
  /** Share of the light beyond the stamp. */
  readonly outside: number;
  /** Brightest pixel. */
  readonly peak: number;
  /** Center of mass of the light in the stamp, from the position asked for. */
  readonly center: Point;
  /**
   * The same for all the light, by geometry: mean slope of the wavefront, mean of the path, light of the
   * neighbors.
   */
  readonly expectedCenter: Point;
  /** Second moments about the center of mass, px^2. */
  readonly moments: { readonly xx: number; readonly xy: number; readonly yy: number };
  /** Root mean square widths along the long and the short axis, and the direction of the long one. */
  readonly rms: { readonly long: number; readonly short: number; readonly angleDeg: number };
}

export function measureStar(star: SheetStar): MeasuredStar {
  const { shape, side, x, y } = star;
  const size = { width: side, height: side };
  const pixels = new Float64Array(side * side);
  if (shape.kind !== 'short-exposure') {
    const held = prepareStar(shape, size).renderInto(pixels, x, y, 1);
    return measured(star, pixels, held, expectedCenter(shape));
  }
  const { options, seed } = shape;
  const plan = prepareShortExposure({ ...options, ...size }, randomStream(seed, 'air'));
  const { heldFraction, meanX, meanY } = plan.exposeInto(pixels, { x, y, flux: 1 });
  const still = centerOfWave(options, options.pixelSizeUm);
  return measured(star, pixels, heldFraction, { x: still.x + meanX, y: still.y + meanY });
}

function measured(star: SheetStar, pixels: Float64Array, held: number, expected: Point): MeasuredStar {
  const mean = (value: (x: number, y: number) => number): number =>
    pixels.reduce((sum, v, k) => sum + v * value(k % star.side, Math.floor(k / star.side)), 0);
  const sum = mean(() => 1);
  const x = mean((i) => i) / sum;
  const y = mean((_, j) => j) / sum;
  const xx = mean((i) => (i - x) ** 2) / sum;
  const yy = mean((_, j) => (j - y) ** 2) / sum;
  const xy = mean((i, j) => (i - x) * (j - y)) / sum;
  const half = Math.hypot((xx - yy) / 2, xy);
  return {
    ...star,
    pixels,
    outside: 1 - held,
    peak: Math.max(...pixels),
    center: { x: x - star.x, y: y - star.y },
    expectedCenter: expected,
    moments: { xx, xy, yy },
    rms: {
      long: Math.sqrt((xx + yy) / 2 + half),
      short: Math.sqrt(Math.max(0, (xx + yy) / 2 - half)),
      angleDeg: (90 / Math.PI) * Math.atan2(2 * xy, xx - yy),
    },
  };
}

function expectedCenter(shape: StarShape): Point {
  switch (shape.kind) {
    case 'rays':
    case 'diffraction':
      return centerOfWave(shape, shape.pixelSizeUm);
    case 'trailed':
      return expectedCenter(shape.shape);
    case 'group': {
      let { x, y } = expectedCenter(shape.star);
      let light = 1;
      for (const { dxPx, dyPx, magnitudeDifference, shape: own } of shape.neighbors) {
        const share = 10 ** (-0.4 * magnitudeDifference);
        const center = expectedCenter(own ?? shape.star);
        x += share * (dxPx + center.x);
        y += share * (dyPx + center.y);
        light += share;
      }
      return { x: x / light, y: y / light };
    }
    default:
      return { x: 0, y: 0 };
  }
}

function centerOfWave({ pupil, wavefront, fNumber }: PupilWave, pixelSizeUm: number): Point {
  const { xUm, yUm } = lightCentroid({ pupil, wavefront, fNumber });
  return { x: xUm / pixelSizeUm, y: yUm / pixelSizeUm };
}
