/**
 * A star smeared by its motion during the exposure: a straight drift, or a path as a tracking simulation
 * gives it.
 */
import { pointsForBlur } from '../image/blur-quadrature.ts';
import { unitVector } from '../numerics/angle.ts';
import { requireNames } from '../numerics/options.ts';
import { gaussLegendre } from '../numerics/quadrature.ts';
import { requireFinite, requireInteger, requireNonNegative, requireWithin } from '../numerics/require.ts';
import { gaussianFwhmPerSigma } from './gaussian.ts';
import type { ImageSize, ShapePlan } from './star-plan.ts';
import type { PathPoint, StarShape, StraightDrift, TrailedShape } from './star-shape.ts';

/** More points than a path of one exposure needs: each costs a render of the star at rest. */
const mostPathPoints = 1e5;

/** Most light that the steps of a drift may put into a wrong pixel, as a fraction of the flux. */
const driftTolerance = 1e-9;

/**
 * A trailed star made ready for one stamp size: the sum over the path of the star at rest, each point with
 * its share of the flux. `prepareShape` makes the star at rest ready.
 *
 * A path is drawn as given, point by point, and adds no error to that of the shape. A straight drift is
 * summed over so many Gauss-Legendre steps that each pixel is right within 1e-9 of the flux for a star at
 * least 0.25 px wide: a drift of 4 px takes 10 renders of a Gaussian 2.5 px wide, one of 40 px takes 65. What
 * is narrower, or a ring without blur, is given the steps of a star 0.25 px wide, though its light jumps from
 * pixel to pixel: 5e-7 of the flux was measured for a sharp ring of 11 px that drifts by 6 px.
 *
 * @throws RangeError or TypeError naming the field of the motion, or of the shape at rest, that is out of
 *   range
 */
export function prepareTrailed(
  trailed: TrailedShape,
  size: ImageSize,
  prepareShape: (shape: StarShape, size: ImageSize) => ShapePlan,
): ShapePlan {
  const { shape, motion } = requireNames('shape', trailed, 'kind shape motion');
  const atRest = prepareShape(shape, size);
  const scratch = new Float64Array(size.width * size.height);
  return Array.isArray(motion)
    ? sumAlong(atRest, checkedPath(motion), scratch)
    : driftPlan(shape, atRest, motion as StraightDrift, scratch);
}

/** Offsets from the mean of a motion, px, and shares of the exposure that sum to 1. */
interface Path {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly shares: Float64Array;
}

function checkedPath(points: readonly PathPoint[]): Path {
  requireInteger('motion.length', points.length, 1, mostPathPoints);
  for (const [n, point] of points.entries()) requireNames(`motion[${n}]`, point, 'dxPx dyPx weight');
  const x = Float64Array.from(points, ({ dxPx }, n) => requireFinite(`motion[${n}].dxPx`, dxPx));
  const y = Float64Array.from(points, ({ dyPx }, n) => requireFinite(`motion[${n}].dyPx`, dyPx));
  const shares = Float64Array.from(points, ({ weight = 1 }, n) =>
    requireNonNegative(`motion[${n}].weight`, weight),
  );
  const total = shares.reduce((sum, share) => sum + share, 0);
  if (!(total > 0 && total < Infinity))
    throw new RangeError(`the weights of motion must have a finite sum > 0, got ${total}`);
  for (let n = 0; n < shares.length; n++) shares[n] /= total;
  const mean = (values: Float64Array): number => values.reduce((sum, value, n) => sum + shares[n] * value, 0);
  const meanX = mean(x);
  const meanY = mean(y);
  return { x: x.map((value) => value - meanX), y: y.map((value) => value - meanY), shares };
}

function driftPlan(
  shape: StarShape,
  atRest: ShapePlan,
  motion: StraightDrift,
  scratch: Float64Array,
): ShapePlan {
  const { lengthPx, angleDeg } = requireNames('motion', motion, 'lengthPx angleDeg');
  requireWithin('motion.lengthPx', lengthPx, 0, 200);
  requireFinite('motion.angleDeg', angleDeg);
  if (lengthPx === 0) return atRest;
  const { nodes, weights } = gaussLegendre(driftSteps(lengthPx, finestDetailPx(shape)));
  const along = unitVector(angleDeg);
  const path = {
    x: nodes.map((node) => 0.5 * lengthPx * node * along.x),
    y: nodes.map((node) => 0.5 * lengthPx * node * along.y),
    shares: weights.map((weight) => 0.5 * weight),
  };
  return sumAlong(atRest, path, scratch);
}

/** Enough steps for a star that is blurred by a Gaussian of this FWHM. */
function driftSteps(lengthPx: number, detailFwhmPx: number): number {
  const reach = ((lengthPx / 2) * gaussianFwhmPerSigma) / detailFwhmPx;
  return pointsForBlur((g) => (reach * (g - 1 / g)) / 2, driftTolerance);
}

/** FWHM of a Gaussian at least as sharp as the sharpest detail of a star, px. */
function finestDetailPx(shape: StarShape): number {
  const finest = ((): number => {
    switch (shape.kind) {
      case 'gaussian':
        return shape.fwhmPx * (shape.axisRatio ?? 1);
      case 'moffat':
        // its core is no sharper, but it has poles at i alpha where a Gaussian has none: measured
        return 0.5 * shape.fwhmPx * (shape.axisRatio ?? 1);
      case 'annulus':
      case 'coma':
      case 'rays':
        return shape.blurFwhmPx;
      case 'trailed':
        return finestDetailPx(shape.shape);
      case 'group':
        return Math.min(
          finestDetailPx(shape.star),
          ...shape.neighbors.map((neighbor) => finestDetailPx(neighbor.shape ?? shape.star)),
        );
      default:
        // a diffraction image has nothing finer than lambda F, which no sensor samples this coarsely
        return 0.5;
    }
  })();
  return Math.max(0.25, finest);
}

function sumAlong(
  atRest: ShapePlan,
  { x: offsetX, y: offsetY, shares }: Path,
  scratch: Float64Array,
): ShapePlan {
  return {
    relativeFlux: atRest.relativeFlux ?? 1,
    renderInto(out, x, y, flux) {
      out.fill(0);
      for (let n = 0; n < shares.length; n++) {
        atRest.renderInto(scratch, x + offsetX[n], y + offsetY[n], flux * shares[n]);
        for (let k = 0; k < out.length; k++) out[k] += scratch[k];
      }
    },
  };
}
