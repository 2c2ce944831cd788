/** The wavefront of a star of a frame: its terms in words, and the rig with this very star. */

import { createImage } from '@holdfast/psf';
import { imagePixels } from '@holdfast/psf/internal';
import {
  type FrameImage,
  fitWavefront,
  type MeasuredStar,
  type Rig,
  type RigCamera,
  type WavefrontFit,
  type WavefrontFound,
} from '@holdfast/sim';
import { withError } from '@holdfast/sim/internal';
import { textTable } from './text-table.ts';

/** Fit the wavefront of a measured star; one frame cannot tell the side of focus. */
export function starWavefront(
  frame: FrameImage,
  star: MeasuredStar,
  { measure }: RigCamera,
  side: 'beyond' | 'before',
): WavefrontFit {
  const { ring } = star;
  if (!ring.ok) return ring;
  const [height, width] = frame.image.shape;
  const electrons = createImage(width, height);
  const pixels = imagePixels(frame.image);
  const { gainEPerAdu, offsetAdu = 0, readNoiseE, fNumber, pixelSizeUm } = measure;
  for (let k = 0; k < pixels.length; k++) electrons.data[k] = (pixels[k] - offsetAdu) * gainEPerAdu;
  return fitWavefront(electrons, {
    noise: { readNoiseE },
    fNumber,
    pixelSizeUm,
    side,
    guess: ring.outerCenter,
    radiusPx: 0.75 * ring.outerDiameterPx.value + 2 * ring.blurFwhmPx.value + 4,
  });
}

/** The fit as lines for the terminal. */
export function wavefrontLines(fit: WavefrontFit, wavelengthNm: number): string[] {
  if (!fit.ok) return [`Wavefront: none (${fit.reason}).`];
  const waves = (nm: number): number => nm / wavelengthNm;
  const rows = fit.terms.map(({ noll, name, nm, followsSide }) => [
    `${name} (Z${noll})`,
    withError(nm),
    withError({ value: waves(nm.value), standardError: waves(nm.standardError) }),
    followsSide ? 'opposite sign' : 'same',
  ]);
  const { clip, obstructionRatio, blurFwhmPx } = fit;
  return [
    ...textTable([
      ['wavefront by its ring', 'nm rms', `waves of ${wavelengthNm} nm`, 'on the other side of focus'],
      ...rows,
    ]),
    `Focus shift: ${withError(fit.focusShiftUm)} µm, if the sensor stands ${fit.side} focus. One frame cannot tell the side: see the last column (--side).`,
    `Obstruction ratio ${withError(obstructionRatio)}, blur FWHM ${withError(blurFwhmPx)} px, ${
      clip === undefined
        ? 'the whole beam arrives'
        : `an edge clips the beam at ${withError(clip.distance)} of its radius, toward ${withError(clip.angleDeg)} degrees`
    }.`,
    `Position: center of the light ${withError(fit.x)}, ${withError(fit.y)} px; chief ray ${withError(fit.chiefRay.x)}, ${withError(fit.chiefRay.y)} px.`,
    ...(fit.comaIsUncertain
      ? [
          'More than a straight edge clips the beam. The fit cannot separate that from coma, so trust the coma less.',
        ]
      : []),
    ...(fit.unevenness > 0.05
      ? [
          `The model leaves ${(100 * fit.unevenness).toFixed(0)} % of the light uneven; the errors count that.`,
        ]
      : []),
  ];
}

/** The rig with the star as it was measured: every answer is then for it, at any focus. */
export function rigWithStar(rig: Rig, fit: WavefrontFound): Rig {
  const { clip } = fit;
  const aberrationsNm = Object.fromEntries(
    Object.entries(fit.aberrationsNm).map(([noll, nm]) => [noll, Number(nm.toFixed(1))]),
  );
  return {
    ...rig,
    telescope: { ...rig.telescope, obstructionRatio: Number(fit.obstructionRatio.value.toFixed(4)) },
    offAxis: {
      offAxisMm: rig.offAxis?.offAxisMm ?? 0,
      clipDistance: clip === undefined ? 1 : Number(clip.distance.value.toFixed(4)),
      ...(clip === undefined ? {} : { clipAngleDeg: Number(clip.angleDeg.value.toFixed(1)) }),
      aberrationsNm,
    },
  };
}
