/** A guide star and its neighbors in one stamp. */
import { exp } from '../numerics/exp-log.ts';
import { requireNames } from '../numerics/options.ts';
import { requireFinite, requireInteger, requireWithin } from '../numerics/require.ts';
import type { ImageSize, ShapePlan } from './star-plan.ts';
import type { Neighbor, StarGroupShape, StarShape } from './star-shape.ts';

/**
 * A group of stars made ready for one stamp size; each neighbor has 10^(-0.4 magnitudeDifference) times the
 * flux. `prepareShape` makes each shape ready. The error of a pixel is the sum of those of the shapes, each
 * times its flux.
 *
 * ```ts
 * renderStar(
 *   { kind: 'group', star: ring, neighbors: [{ dxPx: 14, dyPx: -3, magnitudeDifference: 2.5 }] },
 *   { width: 48, height: 48, x: 22, y: 24, flux: 5000 },
 * ) // the neighbor at (36, 21) has 500 electrons
 * ```
 * @throws RangeError or TypeError naming the field that is out of range
 */
export function prepareStarGroup(
  shape: StarGroupShape,
  size: ImageSize,
  prepareShape: (shape: StarShape, size: ImageSize) => ShapePlan,
): ShapePlan {
  const { star, neighbors } = requireNames('shape', shape, 'kind star neighbors');
  if (!Array.isArray(neighbors))
    throw new TypeError(`neighbors must be a list, got ${JSON.stringify(neighbors)}`);
  requireInteger('neighbors.length', neighbors.length, 0, 1000);
  const main = prepareShape(star, size);
  const others = neighbors.map((neighbor: Neighbor, n) => {
    const name = `neighbors[${n}]`;
    const { shape, ...at } = requireNames(name, neighbor, 'dxPx dyPx magnitudeDifference shape');
    const fainter = requireWithin(`${name}.magnitudeDifference`, at.magnitudeDifference, -25, 25);
    return {
      dx: requireFinite(`${name}.dxPx`, at.dxPx),
      dy: requireFinite(`${name}.dyPx`, at.dyPx),
      brightness: exp(-0.4 * Math.LN10 * fainter),
      plan: shape === undefined ? main : prepareShape(shape, size),
    };
  });
  const scratch = new Float64Array(size.width * size.height);
  let relativeFlux = main.relativeFlux ?? 1;
  for (const { brightness, plan } of others) relativeFlux += brightness * (plan.relativeFlux ?? 1);
  return {
    relativeFlux,
    renderInto(out, x, y, flux) {
      main.renderInto(out, x, y, flux);
      for (const { dx, dy, brightness, plan } of others) {
        plan.renderInto(scratch, x + dx, y + dy, flux * brightness);
        for (let k = 0; k < out.length; k++) out[k] += scratch[k];
      }
    },
  };
}
