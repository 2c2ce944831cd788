/** A ring with a known wavefront, whole and clipped, its noisy frames, and the wavefront fitted to them. */
import { createImage, type Image, randomStream, renderStar, type StarShape } from '@holdfast/psf';
import { fitWavefront, type WavefrontFound } from '@holdfast/sim';

export const beam = { fNumber: 5, pixelSizeUm: 3.75 };
const terms = { 5: 60, 6: -40, 7: 100, 8: -180, 9: 30, 10: -20, 11: 50 } as const;
/** A ring of 30 px: 4 sqrt(3) 2 F Z4 is its radius. */
const defocus = -(15 / (4 * Math.sqrt(3))) * ((500 * beam.pixelSizeUm) / beam.fNumber);
export const zernikesNm: Readonly<Record<number, number>> = { ...terms, 4: defocus };

function star(clip: { distance: number; angleDeg: number } | undefined): StarShape {
  const pupil = { obstructionRatio: 0.35, ...(clip ? { clip } : {}) };
  return { kind: 'rays', pupil, wavefront: { zernikesNm }, ...beam, blurFwhmPx: 3, fineness: 'noisy' };
}

export const at = { x: 31.3, y: 30.8 };
export const clipped = { distance: 0.75, angleDeg: 40 };
const drawn = (clip?: typeof clipped): Image => {
  const image = renderStar(star(clip), { width: 64, height: 64, ...at, flux: 60000 });
  for (let k = 0; k < image.data.length; k++) image.data[k] += 20;
  return image;
};
export const [whole, cut] = [drawn(), drawn(clipped)];

export function found(expected: Image, seed: number, side: 'beyond' | 'before' = 'beyond'): WavefrontFound {
  const photon = randomStream(seed, 'wavefront', 'photon');
  const read = randomStream(seed, 'wavefront', 'read');
  const frame = createImage(64, 64);
  for (let k = 0; k < frame.data.length; k++)
    frame.data[k] = photon.poisson(expected.data[k]!) + 3 * read.normal();
  const fit = fitWavefront(frame, { noise: { readNoiseE: 3 }, ...beam, side });
  if (!fit.ok) throw new Error(fit.reason);
  return fit;
}
