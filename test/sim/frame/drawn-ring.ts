/** Rings as they are drawn, exposed and fitted in the tests of the ring fit. */
import { createImage, type Image, prepareStar, randomStream } from '@holdfast/psf';
import { fitRing, type RingFitOptions, type RingFound } from '@holdfast/sim';

export interface Truth {
  readonly width: number;
  readonly height: number;
  readonly x: number;
  readonly y: number;
  readonly outerDiameterPx: number;
  readonly obstructionRatio: number;
  readonly blurFwhmPx: number;
  readonly flux: number;
  readonly background: number;
}

export const plain: Truth = {
  width: 41,
  height: 47,
  x: 18.3,
  y: 24.9,
  outerDiameterPx: 20,
  obstructionRatio: 0.4,
  blurFwhmPx: 3,
  flux: 50_000,
  background: 20,
};

export function expected(truth: Truth): Image {
  const { width, height, x, y, flux, background, ...shape } = truth;
  const image = createImage(width, height);
  prepareStar({ kind: 'annulus', ...shape }, { width, height }).renderInto(image, x, y, flux);
  for (let k = 0; k < image.data.length; k++) image.data[k] += background;
  return image;
}

export function exposed(image: Image, readNoiseE: number, ...labels: (string | number)[]): Image {
  const photon = randomStream('ring fit', 'photon', ...labels);
  const read = randomStream('ring fit', 'read', ...labels);
  const out = createImage(image.shape[1]!, image.shape[0]!);
  for (let k = 0; k < out.data.length; k++)
    out.data[k] = photon.poisson(Math.max(0, image.data[k]!)) + readNoiseE * read.normal();
  return out;
}

export const noise = { readNoiseE: 5 };

export function found(image: Image, options: Partial<RingFitOptions> = {}): RingFound {
  const fit = fitRing(image, { noise, ...options });
  if (!fit.ok) throw new Error(fit.reason);
  return fit;
}
