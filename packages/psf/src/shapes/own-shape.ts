/** A star drawn by a program of your own. */
import { requireNames } from '../numerics/options.ts';
import { requireText } from '../numerics/require.ts';
import type { ImageSize, ShapePlan } from './star-plan.ts';

/** A star that your own code draws, as the shapes of this package do. */
export interface OwnShape {
  readonly kind: 'own';
  /** Name for messages. */
  readonly name: string;
  /**
   * Make it ready for stamps of one size: do here what depends on neither position nor flux. What it draws is
   * the light in each pixel, integrated over the pixel; light outside the stamp is left out.
   */
  prepare(size: ImageSize): ShapePlan;
}

/** How much more light than its flux a shape may draw: rounding, and nothing else. */
const roundingShare = 1e-6;

/**
 * An own shape made ready, with what it draws checked.
 *
 * @throws TypeError naming `name` or `prepare`; when drawing a RangeError for a pixel that is negative or not
 *   finite, and for more light than the flux
 */
export function prepareOwnShape(shape: OwnShape, size: ImageSize): ShapePlan {
  const { name } = requireNames('shape', shape, 'kind name prepare');
  requireText('shape.name', name);
  const plan = typeof shape.prepare === 'function' ? shape.prepare(size) : undefined;
  if (typeof plan?.renderInto !== 'function')
    throw new TypeError(`prepare of '${name}' must be a function that returns { renderInto }`);
  return {
    renderInto(out, x, y, flux) {
      plan.renderInto(out, x, y, flux);
      let sum = 0;
      for (let k = 0; k < out.length; k++) {
        if (!(out[k] >= 0 && out[k] < Infinity))
          throw new RangeError(`'${name}' must draw finite light >= 0, got ${out[k]} in pixel ${k}`);
        sum += out[k];
      }
      if (sum > flux * (1 + roundingShare))
        throw new RangeError(`'${name}' must draw at most its flux of ${flux}, got ${sum}`);
    },
  };
}
