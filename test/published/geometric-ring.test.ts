/**
 * A ring of geometric optics blurred by a Gaussian: closed forms derived from the definition and confirmed
 * numerically. The numbers are for infinitely fine pixels; here the pixel's own variance of 1/12 px^2 is
 * taken from the blur.
 */

import { renderStar } from '@holdfast/psf';
import { describe } from 'vitest';
import { checkPublished } from './published.ts';

const source = 'derived, confirmed numerically';
const fwhmPerSigma = 2 * Math.sqrt(2 * Math.log(2));

// R, obstruction and s in px; then the center of mass's photon noise * sqrt(N) (the rms of the light along
// one axis), px; and the noise-equivalent area 1 / integral of I^2, px^2.
const table = [
  [5, 0, 1.5, 2.91548, 117.33],
  [5, 0.3, 1.5, 3.0104, 124.49],
  [10, 0, 1.5, 5.22015, 377.73],
  [10, 0.3, 1.5, 5.43139, 374.53],
  [10, 0.5, 1.5, 5.78792, 352.83],
  [20, 0.5, 1.5, 11.28051, 1133.85],
  [20, 0.3, 1, 10.48809, 1243.56],
  [40, 0.35, 1.5, 21.24265, 4717.6],
] as const;

for (const [radius, obstructionRatio, s, rms, area] of table)
  describe(`ring of R = ${radius} px, obstruction ${obstructionRatio}, blur ${s} px rms`, () => {
    /**
     * Drawn `scale` times as large, so that a pixel is 1 / scale px; the star stands off the pixel centers.
     */
    const draw = (
      scale: number,
      pixelInBlur: boolean,
    ): { light: Float64Array; side: number; center: number } => {
      const side = 2 * Math.ceil(scale * (radius + 8 * s)) + 1;
      const center = (side - 1) / 2 + 0.3;
      const sigma = Math.sqrt((scale * s) ** 2 - (pixelInBlur ? 1 / 12 : 0));
      const shape = {
        kind: 'annulus',
        outerDiameterPx: 2 * scale * radius,
        obstructionRatio,
        blurFwhmPx: sigma * fwhmPerSigma,
      } as const;
      const light = renderStar(shape, { width: side, height: side, x: center, y: center, flux: 1 }).data;
      return { light, side, center };
    };
    const variance = (pixelInBlur: boolean): number => {
      const { light, side, center } = draw(1, pixelInBlur);
      return light.reduce((sum, value, k) => sum + value * ((k % side) - center) ** 2, 0);
    };

    checkPublished(
      {
        what: 'center-of-mass photon noise * sqrt(N), px',
        value: rms,
        tolerance: 6e-6,
        source,
        note: 'half a unit of the fifth decimal: sqrt(s^2 + R^2 (1 + obstruction^2) / 4) is exact',
      },
      () => Math.sqrt(variance(true)),
    );
    checkPublished(
      {
        what: 'variance of the light with its pixel of 1 px, px^2',
        value: s ** 2 + (radius ** 2 * (1 + obstructionRatio ** 2)) / 4 + 1 / 12,
        tolerance: 1e-5,
        source,
        note: 'exact; pixel errors below 1e-9 weighed with distances squared',
      },
      () => variance(false),
    );
    checkPublished(
      {
        what: 'noise-equivalent area, px^2',
        value: area,
        tolerance: 0.0052,
        source,
        note: 'half a unit of the second decimal; pixels of 1/2 px stand for blur to fourth order',
      },
      () => 1 / (4 * draw(2, true).light.reduce((sum, value) => sum + value * value, 0)),
    );
  });
