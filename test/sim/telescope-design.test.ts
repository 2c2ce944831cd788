/**
 * The star that a rig's pick-off sees follows from the telescope's design and the pick-off, and older rig
 * files still load.
 */
import { prepareStar } from '@holdfast/psf';
import { buildScene, designOf, edgeStar, parseRig, RigError, rigNotices } from '@holdfast/sim';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import { smallRig } from './small-rig.ts';

const telescope = { apertureMm: 150, focalLengthMm: 750, obstructionRatio: 0.3 };
const temperature = { tubeExpansionPerK: 1e-5, nightDropK: 5 };
const pickoff = {
  flangeDistanceMm: 60,
  openingMm: 44,
  mainSensor: { widthMm: 20, heightMm: 14 },
  mirror: { widthMm: 9, depthMm: 8, distanceMm: 45 },
  edgeFromAxisMm: 12,
};

describe('the star of the pick-off', () => {
  test('stands where the mirror looks, and its comet is that of the design there', () => {
    const star = edgeStar(smallRig({ telescope: { ...telescope, design: { kind: 'paraboloid' } }, pickoff }));
    expect(star.from).toBe('pickoff');
    // The mirror's middle at 16 mm, seen from the exit pupil 750 mm away: 16 / (1 - 45 / 750).
    expectWithin(star.offAxisMm, 16 / (1 - 45 / 750), 1e-9, 'similar triangles');
    expectWithin(
      star.aberrations?.sagittalComaUm ?? 0,
      (1000 * star.offAxisMm) / 400,
      1e-9,
      'h / (16 F^2) at F/5',
    );
    expect(star.lightShare).toBeLessThan(1);
  });
  test('its light and sky fall by what the mirror cuts off', () => {
    const whole = buildScene(smallRig(), { focusShiftUm: 100 });
    const cut = buildScene(smallRig({ pickoff }), { focusShiftUm: 100 });
    expectWithin(cut.fluxE / whole.fluxE, cut.star.lightShare, 1e-12, 'the same star');
    expect(cut.backgroundE).toBeLessThan(whole.backgroundE);
  });
  test('offAxis overrides the pick-off', () => {
    const star = edgeStar(smallRig({ pickoff, offAxis: { offAxisMm: 7, clipDistance: 0.5 } }));
    expect(star).toMatchObject({ from: 'offAxis', offAxisMm: 7, pupil: { clip: { distance: 0.5 } } });
  });

  test.each([-0.1, 1, Number.NaN, Infinity])('an obstruction of %d is refused', (obstructionRatio) => {
    expect(() => edgeStar(smallRig({}), { obstructionRatio })).toThrow(
      `obstructionRatio must be in [0, 1), got ${obstructionRatio}`,
    );
  });
  test('the tail turns with the guide camera', () => {
    const turned = smallRig({
      telescope: { ...telescope, design: { kind: 'paraboloid' } },
      pickoff: { ...pickoff, guideAngleDeg: 90 },
    });
    const { lightOffsetPx } = buildScene(turned, { focusShiftUm: 0 });
    expect(lightOffsetPx.y).toBeGreaterThan(1);
    expectWithin(lightOffsetPx.x, 0, 1e-9, 'symmetry about the direction to the axis');
  });
});

describe('an edge star as it was seen', () => {
  const seen = { atMm: 10, lengthPx: 4.2, widthPx: 3.4, centerPx: 2.6 };
  test('gives the second moments that were seen', () => {
    const rig = smallRig({ telescope: { ...telescope, design: { kind: 'unknown', edgeStar: seen } } });
    const { known } = designOf(rig) as { known: { sagittalComaUm: number; tangentialFocusShiftUm: number } };
    // Drawn as a star without air at 10 mm in the main camera's pixels of 4 um, by rays at the median focus.
    const scene = buildScene(
      { ...rig, offAxis: { offAxisMm: 10, clipDistance: 1 } },
      { focusShiftUm: 0, pixelSizeUm: 0.5, seeingFwhmArcsec: 0.5 },
    );
    const size = { width: 161, height: 161 };
    const image = new Float64Array(161 * 161);
    prepareStar(scene.shape, size).renderInto(image, 80, 80, 1);
    const moments = { x: 0, xx: 0, yy: 0 };
    for (let k = 0; k < image.length; k++) {
      const [x, y] = [(k % 161) - 80, Math.floor(k / 161) - 80];
      moments.x += image[k] * x;
      moments.xx += image[k] * x * x;
      moments.yy += image[k] * y * y;
    }
    const blur = (scene.blurFwhmPx / 2.3548) ** 2 + 1 / 12;
    const variance = (fwhmPx: number): number => (fwhmPx * 8) ** 2 / 2.3548 ** 2;
    const along = moments.xx - moments.x ** 2 - blur;
    expect(known.sagittalComaUm).toBeGreaterThan(0);
    const why = 'light beyond the stamp';
    expectWithin(along, variance(seen.lengthPx) - variance(seen.centerPx), 0.01 * along, why);
    expectWithin(moments.yy - blur, variance(seen.widthPx) - variance(seen.centerPx), 0.01 * along, why);
  });
});

describe('two mirrors that cannot be', () => {
  // Residuals hide the bare design from all but the temperature.
  const known = { residuals: { atMm: 10 } };
  test.each([
    [{ primaryFNumber: 6, backFocusMm: 100 }, /telescope\.design\.primaryFNumber: must be < 5, .*, got 6/],
    [
      { primaryFNumber: 2, backFocusMm: 900 },
      /telescope\.design\.backFocusMm: must be > -300 and < 750 .*, got 900/,
    ],
  ])('%j are refused, whatever else the design says', (mirrors, message) => {
    for (const more of [{}, known]) {
      const design = { kind: 'ritchey-chretien', ...mirrors, ...more };
      const rig = () => smallRig({ telescope: { ...telescope, design }, temperature });
      expect(rig).toThrow(RigError);
      expect(rig).toThrow(message);
    }
  });
});

describe('rig files of before', () => {
  const { guideCamera, mainCamera, sky, guideStar } = smallRig();
  const filters = [{ name: 'Luminance', focusShiftUm: 0 }];
  const old = {
    ...{ name: 'Old', telescope, guideCamera, mainCamera, sky, guideStar, filters },
    offAxis: { offAxisMm: 9, telescope: { design: 'corrected', knownAtMm: 10, sagittalComaUm: 4 } },
    pickoff: { ...pickoff, flangeDistanceMm: undefined, backFocusMm: 60, allowedLoss: 0.03 },
    tracking: { estimator: 'mirrorSymmetryCenter' },
  };
  test('load, and each moved key is named with its new place', () => {
    const { flangeDistanceMm: _, ...oldPickoff } = old.pickoff;
    const rig = parseRig({ ...old, pickoff: oldPickoff });
    expect(rig.pickoff?.flangeDistanceMm).toBe(60);
    expect(rig.pickoff?.allowedLossPercent).toBe(3);
    expect(rig.tracking.estimator).toBe('pointSymmetryCenter');
    expect(rig.telescope.design).toMatchObject({
      kind: 'unknown',
      residuals: { atMm: 10, sagittalComaUm: 4 },
    });
    expect(rigNotices({ ...old, pickoff: oldPickoff }).map((text) => text.split(':')[0])).toEqual([
      'pickoff.backFocusMm is now pickoff.flangeDistanceMm',
      'pickoff.allowedLoss is now pickoff.allowedLossPercent',
      'offAxis.telescope is now telescope.design',
      'the method mirrorSymmetryCenter is now pointSymmetryCenter',
    ]);
    expect(rigNotices(rig)).toEqual([]);
  });
});
