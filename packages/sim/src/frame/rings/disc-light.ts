/**
 * Blurred discs of light of brightness 1, and their slopes: in closed form, of a blur below 1.5 px by central
 * differences.
 */
import { prepareStar } from '@holdfast/psf';
import { type Disc, type DiscSlopes, edgeSlopes, leastBlurOfForm } from './ring-edge.ts';

/** Discs on a stamp of one size. */
export interface Discs {
  /** Overwrite `out` with the disc. */
  draw(out: Float64Array, disc: Disc): void;
  /** Overwrite `by` with its slopes. */
  slopes(by: DiscSlopes, disc: Disc): void;
}

/**
 * Step of the central differences, px: the discs are right to 1e-8 of their flux, so noise of 1e-5 of the
 * level.
 */
const step = 0.02;

export function prepareDiscs(width: number, height: number): Discs {
  const size = { width, height };
  const count = width * height;
  const low = new Float64Array(count);

  const draw = (out: Float64Array, { x, y, radius2, blur }: Disc): void => {
    const outerDiameterPx = 2 * Math.sqrt(radius2);
    const shape = { kind: 'annulus', outerDiameterPx, obstructionRatio: 0, blurFwhmPx: blur } as const;
    prepareStar(shape, size).renderInto(out, x, y, Math.PI * radius2);
  };

  const difference = (out: Float64Array, above: Disc, below: Disc, span: number): void => {
    draw(out, above);
    draw(low, below);
    for (let k = 0; k < count; k++) out[k] = (out[k] - low[k]) / span;
  };

  return {
    draw,
    slopes(by, disc) {
      const { x, y, radius2, blur } = disc;
      if (blur >= leastBlurOfForm) {
        edgeSlopes(by, width, height, disc);
        return;
      }
      difference(by.x, { ...disc, x: x + step }, { ...disc, x: x - step }, 2 * step);
      difference(by.y, { ...disc, y: y + step }, { ...disc, y: y - step }, 2 * step);
      difference(by.blur, { ...disc, blur: blur + step }, { ...disc, blur: blur - step }, 2 * step);
      const grown = radius2 + step * (2 * Math.sqrt(radius2) + step);
      const shrunk = Math.max(0, 2 * radius2 - grown);
      difference(by.radius2, { ...disc, radius2: grown }, { ...disc, radius2: shrunk }, grown - shrunk);
    },
  };
}

export function discSlopes(count: number): DiscSlopes {
  const values = (): Float64Array => new Float64Array(count);
  return { x: values(), y: values(), radius2: values(), blur: values() };
}
