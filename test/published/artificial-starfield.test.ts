/**
 * Ten artificial Gaussian stars (rms width 1.000 px) at whole pixels, without noise and with it (1 electron
 * per ADU, sky 100): iraf-community/iraf, test images fits1 and fits3 with their list of coordinates, counted
 * from 1.
 */
import { centerOfMass, gaussianFit, thresholdedCenterOfMass } from '@holdfast/centroid';
import type { Image } from '@holdfast/psf';
import { type MeasuredStar, measureFrame, readFits } from '@holdfast/sim';
import { expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import { readOpenData } from '../open-data.ts';

function field(name: string): { image: Image; places: { x: number; y: number }[] } {
  const result = readFits(readOpenData(`starfield/${name}.fits`));
  if (!result.ok) throw new Error(result.message);
  const lines = new TextDecoder().decode(readOpenData('starfield/coords.dat')).trim().split('\n');
  const places = lines.map((line) => {
    const [x, y] = line.trim().split(/\s+/).map(Number) as [number, number];
    return { x: x - 1, y: y - 1 };
  });
  return { image: result.image, places };
}

const near = (stars: readonly MeasuredStar[], { x, y }: { x: number; y: number }) =>
  stars.find((star) => (star.x - x) ** 2 + (star.y - y) ** 2 < 1);

const positionsOf = ({ positions }: MeasuredStar) =>
  [positions.centerOfMass, positions.thresholdedCenterOfMass, positions.gaussianFit] as const;

test('without noise: each star found is placed to 0.01 px by each estimator', () => {
  const { image, places } = field('fits1');
  const stars = measureFrame(image, { gainEPerAdu: 1, readNoiseE: 0 });
  const found = places
    .map((place) => ({ place, star: near(stars, place) }))
    .filter(({ star }) => star !== undefined);
  // two pairs are closer than 6.5 px with one of them faint or as bright: at least the six others stand alone
  expect(found.length).toBeGreaterThanOrEqual(6);
  for (const { place, star } of found)
    for (const position of positionsOf(star!)) {
      if (!position.ok) throw new Error(position.reason);
      expectWithin(position.x, place.x, 0.01, 'light of neighbors that were taken off, or not found');
      expectWithin(position.y, place.y, 0.01, 'light of neighbors that were taken off, or not found');
    }
});

test('without noise: all ten stars by each estimator, told where to look', () => {
  const { image, places } = field('fits1');
  for (const guess of places) {
    // within two pixels: neighbors at 5 px leave less than a thousandth of their peak there
    const options = { guess, radiusPx: 2.1, background: 100 };
    for (const position of [
      centerOfMass(image, options),
      thresholdedCenterOfMass(image, { ...options, threshold: 0 }),
      gaussianFit(image, { ...options, fitBackground: false }),
    ]) {
      if (!position.ok) throw new Error(position.reason);
      expectWithin(position.x, guess.x, 0.01, 'light of neighbors');
      expectWithin(position.y, guess.y, 0.01, 'light of neighbors');
    }
  }
});

test('with noise: each star within the stated errors, by each estimator; no ring; sky as made', () => {
  const { image, places } = field('fits3');
  const stars = measureFrame(image, { gainEPerAdu: 1, readNoiseE: 0 });
  const pulls: number[] = [];
  let found = 0;
  for (const place of places) {
    const star = near(stars, place);
    if (star === undefined) continue;
    expect(star.ring.ok).toBe(false);
    const positions = positionsOf(star);
    if (positions.every(({ ok }) => ok)) found++;
    for (const position of positions) {
      if (!position.ok) {
        expect(position.reason).toBe('too-faint');
        continue;
      }
      pulls.push((position.x - place.x) / position.sigmaX!, (position.y - place.y) / position.sigmaY!);
    }
  }
  // a star is not found again as the second one of its neighbors
  for (const place of places)
    expect(
      stars.filter(({ x, y }) => (x - place.x) ** 2 + (y - place.y) ** 2 < 4).length,
    ).toBeLessThanOrEqual(1);
  // one of the ten, 163 electrons on a sky of 100 per pixel, is below 5 sigma: it may be refused as too faint
  expect(found).toBeGreaterThanOrEqual(9);
  // three estimators share 18 stars and axes: 4 sigma would be chance once in nine hundred such fields
  for (const pull of pulls) expectWithin(pull, 0, 4, 'deviation over its stated error');
  const rms = Math.sqrt(pulls.reduce((sum, pull) => sum + pull * pull, 0) / pulls.length);
  // 18 independent ones: the rms scatters by 1 / 6
  expectWithin(rms, 1, 0.5, 'rms deviation over stated error');
  // sky 100, so its noise is 10
  for (const { backgroundE, noiseE } of stars) {
    expectWithin(backgroundE.value, 100, 4 * backgroundE.standardError, '4 sigma of its own error');
    expectWithin(noiseE.value, 10, 4 * noiseE.standardError, '4 sigma of its own error');
  }
});
