/** Comets drawn by rays, out of focus and in it: amount and direction by both measures. */
import { type ComaShape, createImage, prepareStar, randomStream } from '@holdfast/psf';
import { type ComaEstimate, type MeasuredStar, measureFrame } from '@holdfast/sim';
import { describe, expect, test } from 'vitest';
import { expectWithin, expectWithinSigmas } from '../../expect-within.ts';

const size = { width: 83, height: 79 };

function comet(shape: Omit<ComaShape, 'kind' | 'blurFwhmPx'>, flux: number, noise?: number): MeasuredStar {
  const image = createImage(size.width, size.height);
  prepareStar({ kind: 'coma', blurFwhmPx: 3, ...shape }, size).renderInto(image.data, 40.3, 37.8, flux);
  const photon = randomStream('comet', 'photon', noise ?? 0);
  const read = randomStream('comet', 'read', noise ?? 0);
  for (let k = 0; k < image.data.length; k++) {
    const expected = image.data[k]! + 20;
    image.data[k] = noise === undefined ? expected : photon.poisson(expected) + 3 * read.normal();
  }
  const [star] = measureFrame(image, { gainEPerAdu: 1, readNoiseE: 3 });
  if (star === undefined) throw new Error('no star');
  return star;
}

const components = ({ x, y }: ComaEstimate) => [x, y] as const;

describe('out of focus', () => {
  const ring = { obstructionRatio: 0.35, angleDeg: 125, defocusDiameterPx: 40 } as const;
  test.each([
    // share of the radius, and what the first order leaves out (measured; see coma-measure)
    [0.5, 0.01],
    [1, 0.03],
    [2, 0.11],
  ])('sagittal coma of %f px in a ring of 40 px', (sagittalComaPx, leftOut) => {
    const { fromHole, fromMoments } = comet({ ...ring, sagittalComaPx }, 300_000).coma;
    expectWithin(
      fromHole!.sagittalComaPx.value / sagittalComaPx,
      1 - leftOut / 2,
      leftOut / 2 + 0.005,
      'first order',
    );
    // the ring's diameter comes out 2 % too large at a tenth
    expectWithin(
      fromMoments!.sagittalComaPx.value / sagittalComaPx,
      1 - leftOut / 4,
      leftOut / 4 + 0.01,
      'diameter',
    );
    for (const one of [fromHole!, fromMoments!]) expectWithin(one.angleDeg!.value, 125, 0.5, 'pixels');
  });

  test('the sign: the tail points where the center of mass lies from the hole-free core', () => {
    const { fromHole } = comet({ ...ring, angleDeg: 0, sagittalComaPx: 1 }, 300_000).coma;
    expect(fromHole!.x.value).toBeGreaterThan(0.9);
    expectWithin(fromHole!.y.value, 0, 0.02, 'toward +x');
  });

  test('the stated errors are those of trials', () => {
    const trials = 24;
    const shape = { ...ring, defocusDiameterPx: 30, sagittalComaPx: 0.5 };
    const clean = comet(shape, 60_000).coma;
    const pulls = { fromHole: [] as number[], fromMoments: [] as number[] };
    for (let trial = 0; trial < trials; trial++) {
      const noisy = comet(shape, 60_000, trial + 1).coma;
      for (const name of ['fromHole', 'fromMoments'] as const)
        components(noisy[name]!).forEach((one, axis) => {
          pulls[name].push((one.value - components(clean[name]!)[axis]!.value) / one.standardError);
        });
    }
    for (const values of Object.values(pulls)) {
      const rms = Math.sqrt(values.reduce((sum, v) => sum + v * v, 0) / values.length);
      // 48 deviations: the rms scatters by 1 / sqrt(96) = 0.1
      expectWithin(rms, 1, 0.35, 'rms over stated error');
      const mean = values.reduce((sum, v) => sum + v, 0) / values.length;
      expectWithinSigmas(mean, 0, 1 / Math.sqrt(values.length), 4);
    }
  });
});

describe('where the ring is not seen', () => {
  test('a comet in focus: by moments, with an error that covers the ring it might be', () => {
    for (const sagittalComaPx of [1.5, 3, 5]) {
      const star = comet({ obstructionRatio: 0.35, angleDeg: 35, sagittalComaPx }, 200_000);
      expect(star.coma.fromHole).toBeUndefined();
      const { x, y, angleDeg } = star.coma.fromMoments!;
      // the window cuts the end of a long tail: 4 % of the light's third moments
      const off = (one: { value: number; standardError: number }, truth: number) =>
        expectWithin(one.value, truth, 2 * one.standardError + 0.09 * sagittalComaPx, 'unknown radius; tail');
      off(x, sagittalComaPx * Math.cos((35 * Math.PI) / 180));
      off(y, sagittalComaPx * Math.sin((35 * Math.PI) / 180));
      expectWithin(angleDeg!.value, 35, 1, 'pixels');
    }
  });
  test('no coma, no direction', () => {
    const { coma } = comet({ obstructionRatio: 0.35, angleDeg: 0, sagittalComaPx: 0 }, 30_000, 5);
    expect(coma.fromMoments!.angleDeg).toBeUndefined();
  });
});
