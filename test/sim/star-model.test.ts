/**
 * Which model draws the star: where rays stand in for diffraction they must agree with it, and elsewhere they
 * may not.
 */
import { type DiffractionShape, prepareStar, randomStream } from '@holdfast/psf';
import { buildScene, type Rig, type Scene } from '@holdfast/sim';
import { leastError } from '@holdfast/sim/internal';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import { smallRig } from './small-rig.ts';

const random = randomStream('rays or waves');
const between = (low: number, high: number): number => low + (high - low) * random.uniform();

interface Cell {
  readonly auto: Scene;
  /** Error and window light by rays over those by diffraction, less 1. */
  readonly errorOff: number;
  readonly lightOff: number;
}

function cell(): Cell {
  const apertureMm = between(80, 330);
  const focalLengthMm = apertureMm * between(4, 11);
  const rig = smallRig({
    starModel: 'auto',
    telescope: {
      apertureMm,
      focalLengthMm,
      obstructionRatio: between(0, 1) < 0.25 ? 0 : between(0.2, 0.48),
      design: { kind: between(0, 1) < 0.5 ? 'paraboloid' : 'unknown' },
    },
    guideCamera: { pixelSizeUm: between(2.4, 5.4), exposureS: 2, readNoiseE: 2 },
    sky: { seeingFwhmArcsec: between(1.2, 4.2) },
    offAxis: { offAxisMm: between(0, 15), clipDistance: Math.min(1, between(0.2, 1.6)) },
  });
  const setting = { focusShiftUm: between(-1, 1) * between(0, 900), magnitude: between(9, 13) };
  const auto = buildScene(rig, setting);
  const rays = buildScene({ ...rig, starModel: 'geometric' }, setting);
  // Their spectrum is what takes long: it is worked out once.
  const waves =
    auto.shape.kind === 'diffraction' ? auto : buildScene({ ...rig, starModel: 'diffraction' }, setting);
  const half = Math.max(rays.column, waves.column);
  const window = { width: 2 * half + 1, height: 2 * half + 1, column: half, row: half };
  const errorOf = (scene: Scene): number => leastError({ ...scene, ...window, fluxE: waves.fluxE });
  return {
    auto,
    errorOff: errorOf(rays) / errorOf(waves) - 1,
    lightOff: lightWithin(rays, waves.radiusPx, window) / lightWithin(waves, waves.radiusPx, window) - 1,
  };
}

function lightWithin(
  { shape, lightOffsetPx }: Scene,
  radiusPx: number,
  { width, height, column, row }: { width: number; height: number; column: number; row: number },
): number {
  const image = new Float64Array(width * height);
  prepareStar(shape, { width, height }).renderInto(image, column - lightOffsetPx.x, row - lightOffsetPx.y, 1);
  return image.reduce(
    (sum, value, k) =>
      Math.hypot((k % width) - column, Math.floor(k / width) - row) <= radiusPx ? sum + value : sum,
    0,
  );
}

describe('the star model of 100 random rigs and shifts', () => {
  const cells = Array.from({ length: 100 }, cell);
  test('where auto picks rays, error and light agree with diffraction to 3 %', () => {
    const wrong = cells.filter(
      ({ auto, errorOff, lightOff }) =>
        auto.shape.kind !== 'diffraction' && (Math.abs(errorOff) > 0.03 || Math.abs(lightOff) > 0.03),
    );
    expect(wrong).toEqual([]);
  });
  test('it is right not to pick them: they would be off by more in at least 95 of the 100, most by 10 to 35 %', () => {
    const off = cells.filter(
      ({ errorOff, lightOff }) => Math.abs(errorOff) > 0.03 || Math.abs(lightOff) > 0.03,
    );
    expect(off.length).toBeGreaterThanOrEqual(95);
    const sorted = cells.map(({ errorOff }) => errorOff).sort((a, b) => a - b);
    expect(sorted[50]).toBeLessThan(-0.1);
    expect(sorted[50]).toBeGreaterThan(-0.35);
  });
});

test('a ring too wide for diffraction is drawn by rays, or refused where the rig asks for diffraction', () => {
  const wide = { focusShiftUm: 12000, magnitude: 5 };
  expect(buildScene(smallRig({ starModel: 'auto' }), wide).shape.kind).toBe('annulus');
  expect(() => buildScene(smallRig({ starModel: 'diffraction' }), wide)).toThrow(
    /^starModel must be auto for a star 12000 µm out of focus, got diffraction: its wave needs more than 1024 samples/,
  );
});

describe('the fast setting of diffraction', () => {
  test('keeps the least error of its default accuracy within 1 %', () => {
    const rig: Rig = smallRig({ starModel: 'diffraction' });
    for (const focusShiftUm of [0, 60, 200, 500]) {
      const scene = buildScene(rig, { focusShiftUm, magnitude: 12 });
      const { accuracy: _, ...exact } = scene.shape as DiffractionShape;
      const reference = leastError({ ...scene, shape: exact });
      expectWithin(leastError(scene), reference, 0.01 * reference, 'fewer samples across the pupil');
    }
  });
  test('one color for a small ring is within 1 % of three', () => {
    const rig: Rig = smallRig({ starModel: 'diffraction' });
    const scene = buildScene(rig, { focusShiftUm: 200, magnitude: 12 });
    const bands = [-0.7746, 0, 0.7746].map((node, k) => ({
      wavelengthNm: 550 + 150 * node,
      weight: k === 1 ? 8 : 5,
    }));
    const reference = leastError({
      ...scene,
      shape: { ...(scene.shape as DiffractionShape), wavelengthNm: bands },
    });
    expectWithin(leastError(scene), reference, 0.01 * reference, 'fringes that colors wash out');
  });
});
