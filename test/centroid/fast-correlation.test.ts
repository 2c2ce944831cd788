import { crossCorrelation, prepareCrossCorrelation, prepareTemplateFit } from '@holdfast/centroid';
import { createImage, prepareStar, randomStream } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';

const width = 83;
const height = 61;
const size = { width, height };
const noise = { readNoiseE: 2 };
const ring = prepareStar(
  { kind: 'annulus', outerDiameterPx: 14, obstructionRatio: 0.35, blurFwhmPx: 2.5 },
  { width: 29, height: 27 },
);

function frameOf(seed: number, x: number, y: number, flux = 6000): Float64Array {
  const random = randomStream('fast correlation', seed);
  const star = prepareStar(
    { kind: 'annulus', outerDiameterPx: 14, obstructionRatio: 0.35, blurFwhmPx: 2.5 },
    size,
  );
  const out = new Float64Array(width * height);
  star.renderInto(out, x, y, flux);
  for (let k = 0; k < out.length; k++) out[k] = random.poisson(out[k] + 8) - 8 + 2 * random.normal();
  return out;
}

describe('a search by Fourier transform', () => {
  test.each([
    [20.3, 40.8],
    [70.1, 12.2],
    [9.6, 9.4],
    [75.9, 53.7],
  ])('finds the very position that the direct search finds, all over the frame: (%d, %d)', (x, y) => {
    const frame = frameOf(1, x, y);
    for (const fitBackground of [true, false]) {
      const common = { template: ring, noise, fitBackground };
      const direct = prepareCrossCorrelation(size, { ...common, search: 'direct' })(frame);
      expect(direct.ok).toBe(true);
      expect(prepareCrossCorrelation(size, { ...common, search: 'fourier' })(frame)).toEqual(direct);
      expect(prepareCrossCorrelation(size, common)(frame)).toEqual(direct);
      if (direct.ok) expectWithin(direct.x, x, 0.3, 'noise of the position is below 0.1 px');
    }
  });
  test('masked pixels count as little in one as in the other', () => {
    const frame = frameOf(2, 40.2, 30.6);
    const valid = new Uint8Array(width * height).fill(1);
    const random = randomStream('mask');
    for (let k = 0; k < valid.length; k++)
      if (random.uniform() < 0.2) {
        valid[k] = 0;
        frame[k] = 1e6;
      }
    const options = { template: ring, noise, valid };
    const direct = prepareTemplateFit(size, { ...options, search: 'direct' })(frame);
    expect(direct.ok).toBe(true);
    expect(prepareTemplateFit(size, { ...options, search: 'fourier' })(frame)).toEqual(direct);
  });
  test('a plan serves frame after frame, and families of templates', () => {
    const family = {
      templateAt: (outerDiameterPx: number) =>
        prepareStar(
          { kind: 'annulus', outerDiameterPx, obstructionRatio: 0.35, blurFwhmPx: 2.5 },
          { width: 31, height: 31 },
        ),
      from: 11,
      to: 17,
      step: 0.75,
    };
    const direct = prepareTemplateFit(size, { template: family, noise, search: 'direct' });
    const fast = prepareTemplateFit(size, { template: family, noise, search: 'fourier' });
    for (const seed of [3, 4, 5]) {
      const frame = frameOf(seed, 25 + 5 * seed, 28.4, 20_000);
      expect(fast(frame)).toEqual(direct(frame));
    }
  });
  test('a word that is no way of searching is refused', () => {
    const image = createImage(width, height, frameOf(6, 30, 30));
    expect(() => crossCorrelation(image, { template: ring, search: 'fast' as 'auto' })).toThrow(
      /search must be one of auto, direct, fourier/,
    );
  });
});
