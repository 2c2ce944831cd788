import { lightCentroid, offAxisAberrations, pupilMoments } from '@holdfast/psf';
import { buildScene } from '@holdfast/sim';
import { leastError } from '@holdfast/sim/internal';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  type PickoffClearance,
  pickoffClearance,
  pickoffShadow,
} from '../../packages/sim/src/pickoff/pickoff.ts';
import { deepestPlace } from '../../packages/sim/src/pickoff/pickoff-depth.ts';
import { pickoffGeometry } from '../../packages/sim/src/pickoff/pickoff-geometry.ts';
import type { PickoffOptions } from '../../packages/sim/src/pickoff/pickoff-options.ts';
import { pickoffTradeOff } from '../../packages/sim/src/pickoff/pickoff-trade-off.ts';
import { clipPolygon, polygonDiscArea } from '../../packages/sim/src/pickoff/shadow-polygon.ts';
import { worstPixel } from '../../packages/sim/src/pickoff/shadow-worst.ts';
import { expectWithin } from '../expect-within.ts';
import { smallRig } from './small-rig.ts';

/** 150 mm F/5. */
const options: PickoffOptions = {
  apertureMm: 150,
  focalLengthMm: 750,
  obstructionRatio: 0.3,
  flangeDistanceMm: 60,
  openingMm: 44,
  mainSensor: { widthMm: 22, heightMm: 15 },
  mirror: { widthMm: 9, depthMm: 8, distanceMm: 45 },
  edgeFromAxisMm: 12,
  design: { design: 'paraboloid' },
};
const geometry = pickoffGeometry(options);

describe('polygons', () => {
  const square = (x: number, y: number, half: number) =>
    Float64Array.of(x - half, y - half, x + half, y - half, x + half, y + half, x - half, y + half);
  test('a polygon around the disc holds it, one inside is held, one outside shares nothing', () => {
    expectWithin(polygonDiscArea(square(0.2, -0.3, 5), 2), 4 * Math.PI, 1e-14 * 4 * Math.PI, 'the disc');
    expectWithin(polygonDiscArea(square(0.4, 0.1, 0.2), 1), 0.16, 1e-15, 'the square');
    expectWithin(polygonDiscArea(square(4, 1, 1), 2), 0, 1e-14, 'apart');
    expect(polygonDiscArea(square(0, 0, 1), 0)).toBe(0);
  });
  test('a square on the corner of the axes shares a quarter of the disc; one turned the other way round the negative', () => {
    expectWithin(polygonDiscArea(square(3, 3, 3), 2), Math.PI, 1e-14, 'a quarter of 4 pi');
    const corners = square(3, 3, 3);
    const back = Float64Array.of(...[6, 4, 2, 0].flatMap((k) => [corners[k], corners[k + 1]]));
    expectWithin(polygonDiscArea(back, 2), -Math.PI, 1e-14, 'orientation');
  });
  test('the area shared with any triangle agrees with a count on a grid', () => {
    const coordinate = fc.double({ min: -2, max: 2, noNaN: true });
    fc.assert(
      fc.property(fc.array(coordinate, { minLength: 6, maxLength: 6 }), (corners) => {
        const [ax, ay, bx, by, cx, cy] = corners;
        const side = (px: number, py: number, qx: number, qy: number, x: number, y: number) =>
          (qx - px) * (y - py) - (qy - py) * (x - px);
        const n = 200;
        let count = 0;
        for (let i = 0; i < n; i++)
          for (let j = 0; j < n; j++) {
            const x = (2 * (i + 0.5)) / n - 1;
            const y = (2 * (j + 0.5)) / n - 1;
            if (x * x + y * y > 1) continue;
            const signs = [
              side(ax, ay, bx, by, x, y),
              side(bx, by, cx, cy, x, y),
              side(cx, cy, ax, ay, x, y),
            ];
            if (signs.every((s) => s >= 0) || signs.every((s) => s <= 0)) count++;
          }
        const area = Math.abs(polygonDiscArea(Float64Array.from(corners), 1));
        // At most one cell in error along each border line of about 2 / n wide and 10 long.
        expectWithin(area, (4 * count) / (n * n), 0.03, `triangle ${corners}`);
      }),
      { seed: 7, numRuns: 40 },
    );
  });
  test('cutting leaves the side asked for, all or nothing', () => {
    const half = clipPolygon(square(0, 0, 1), 1, 0, 0.25);
    expectWithin(polygonDiscArea(half, 10), 2.5, 1e-14, 'from -1 to 0.25');
    expect(Array.from(clipPolygon(square(0, 0, 1), 0, 1, 2))).toHaveLength(8);
    expect(Array.from(clipPolygon(square(0, 0, 1), 0, 1, -2))).toHaveLength(0);
    expect(polygonDiscArea(new Float64Array(0), 1)).toBe(0);
  });
});

describe('the shadow on the main sensor', () => {
  test('nothing, half-shade or full shade, and the worst pixel under the mirror', () => {
    const at = (changes: object) => pickoffClearance({ ...options, ...changes });
    expect(at({ edgeFromAxisMm: 13 }).shadow.reaches).toBe('nothing');
    expect(at({ edgeFromAxisMm: 13 }).shadow.worst.loss).toBe(0);
    const half = at({ edgeFromAxisMm: 8 }).shadow;
    expect(half.reaches).toBe('penumbra');
    expectWithin(half.worst.yMm, 7.5, 1e-9, 'on the long side');
    expectWithin(half.worst.xMm, 0, 0.5, 'opposite the mirror, where the loss is level');
    // A mirror as wide as the beam, right over the sensor: 45 mm above it the cone is 9 mm wide.
    const full = at({ edgeFromAxisMm: 0, mirror: { widthMm: 20, depthMm: 20, distanceMm: 45 } }).shadow;
    expect(full.reaches).toBe('umbra');
    expect(full.umbraFromAxisMm).toBeDefined();
    expect(half.umbraFromAxisMm).toBeUndefined();
  });
  test('is clear when no pixel loses more than allowed', () => {
    const { loss } = pickoffClearance({ ...options, edgeFromAxisMm: 11 }).shadow.worst;
    const isClear = (allowedLossPercent: number) =>
      pickoffClearance({ ...options, edgeFromAxisMm: 11, allowedLossPercent }).isClear;
    expect(loss).toBeGreaterThan(0.005);
    expect([isClear(loss * 99), isClear(loss * 101)]).toEqual([false, true]);
  });
  test('the half-shade begins where it says', () => {
    const { shadow } = pickoffClearance(options);
    const lossAt = pickoffShadow(options);
    expect(lossAt(0, shadow.penumbraFromAxisMm - 0.001)).toBe(0);
    expect(lossAt(0, shadow.penumbraFromAxisMm + 0.1)).toBeGreaterThan(0);
  });
  test('the worst pixel is the worst of a fine grid, at any rotation and depth', () => {
    for (const [angleDeg, edgeFromAxisMm] of [
      [90, 9],
      [0, 12],
      [34, 14],
      [200, 13.5],
      [63, 6],
      [90, 1],
    ]) {
      const lossAt = pickoffShadow({ ...options, angleDeg, edgeFromAxisMm });
      let most = 0;
      const n = 120;
      for (let i = 0; i <= n; i++)
        for (let j = 0; j <= n; j++)
          most = Math.max(most, lossAt(11 * ((2 * i) / n - 1), 7.5 * ((2 * j) / n - 1)));
      const { loss, xMm, yMm } = worstPixel(geometry, edgeFromAxisMm, angleDeg);
      expect(loss).toBeGreaterThanOrEqual(most - 1e-12);
      expectWithin(loss, most, 2e-3, 'grid of 0.18 mm');
      expectWithin(lossAt(xMm, yMm), loss, 1e-12, 'where it says');
    }
  });
  test('the farther out the mirror, the less it shades', () => {
    for (const angleDeg of [0, 34, 90]) {
      let before = 1;
      for (let edge = 0; edge < 20; edge += 1.5) {
        const { loss } = worstPixel(geometry, edge, angleDeg);
        expect(loss).toBeLessThanOrEqual(before + 1e-9);
        before = loss;
      }
      expect(before).toBe(0);
    }
  });
});

describe('how deep it may reach', () => {
  test('the deepest place is allowed, a hundredth of a millimeter deeper is not', () => {
    for (const angleDeg of [0, 20, 34, 90])
      for (const allowedLoss of [0, 0.01, 0.1, 0.3]) {
        const { edgeFromAxisMm } = deepestPlace(geometry, angleDeg, allowedLoss);
        expect(worstPixel(geometry, edgeFromAxisMm, angleDeg).loss).toBeLessThanOrEqual(allowedLoss);
        expect(worstPixel(geometry, edgeFromAxisMm - 0.01, angleDeg).loss).toBeGreaterThan(allowedLoss);
      }
  });
  test('without any shade it is where the cone of the nearest side ends, by hand', () => {
    // 49 mm above the sensor, F/5: the cone of y = 7.5 mm reaches 7.5 (1 - 49 / 750) + 4.9 mm.
    const { edgeFromAxisMm } = deepestPlace(geometry, 90, 0);
    // The first light that is lost grows as the depth^1.5: 1e-12 of it, which counts as nothing, is 1e-7 mm.
    expectWithin(edgeFromAxisMm, 7.5 * (1 - 49 / 750) + 4.9, 2e-4, 'resolution of the search');
  });
  test('a rectangular sensor lets it deepest at the long side, least at the corner, alike in every quarter', () => {
    const { byRotation } = pickoffClearance(options);
    const edges = byRotation.map(({ edgeFromAxisMm }) => edgeFromAxisMm);
    expect(byRotation[0].angleDeg).toBe(0);
    expect(byRotation.at(-1)?.angleDeg).toBe(90);
    expect(Math.min(...edges)).toBe(edges.at(-1));
    const corner = (180 / Math.PI) * Math.atan2(15, 22);
    const shallowest = byRotation[edges.indexOf(Math.max(...edges))];
    expectWithin(shallowest.angleDeg, corner, 5, 'step of the curve');
    const at = (angleDeg: number) => deepestPlace(geometry, angleDeg, 0.02).edgeFromAxisMm;
    for (const angleDeg of [150, 210, -30]) expectWithin(at(angleDeg), at(30), 2e-4, 'mirror image');
  });
});

describe('the guide star', () => {
  const star = (changes: object): PickoffClearance['star'] =>
    pickoffClearance({ ...options, ...changes }).star;
  test('is the one whose chief ray meets the middle of the mirror, by hand', () => {
    // (12 + 4) mm, 45 mm above the focal plane, seen from an exit pupil 750 mm away.
    expectWithin(star({}).offAxisMm, 16 / (1 - 45 / 750), 1e-12, 'similar triangles');
    expectWithin(star({ exitPupilDistanceMm: Infinity }).offAxisMm, 16, 1e-12, 'telecentric');
    expect(star({ starOffAxisMm: 15 }).offAxisMm).toBe(15);
  });
  test('keeps all its light on a large mirror, and loses what the mirror leaves out on a small one', () => {
    const large = star({ mirror: { widthMm: 14, depthMm: 14, distanceMm: 45 }, openingMm: 70 });
    expect(large.keptFraction).toBe(1);
    expect(large.pupil).toEqual({ obstructionRatio: 0.3 });
    expectWithin(large.walkPerFocus, 0, 1e-12, 'a symmetric pupil');
    const small = star({ mirror: { widthMm: 4, depthMm: 4, distanceMm: 45 } });
    expect(small.keptFraction).toBeLessThan(0.5);
    expect(small.pupil?.footprint).toBeDefined();
  });
  test('its pupil passes the light that it should, and stands where the light does', () => {
    for (const changes of [
      {},
      { angleDeg: 30 },
      { mirror: { widthMm: 5, depthMm: 6, distanceMm: 45 }, angleDeg: 200 },
      { edgeFromAxisMm: 16 },
      { edgeFromAxisMm: 18, angleDeg: 120 },
      { starOffAxisMm: 14 },
    ]) {
      const { pupil, keptFraction, walkPerFocus } = star(changes);
      expect(pupil).toBeDefined();
      if (pupil === undefined) continue;
      const passed = pupilMoments(pupil).transmitted / pupilMoments({ obstructionRatio: 0.3 }).transmitted;
      expectWithin(
        passed,
        keptFraction,
        1e-3,
        'made to leave as much; an opening that cuts less than 0.1 % is left out',
      );
      // The walk is the center of mass of the light by its wavefront, seen along the mirror's direction.
      const { angleDeg = 90 } = changes as { angleDeg?: number };
      const { xUm, yUm } = lightCentroid({ pupil, wavefront: { focusShiftUm: 400 }, fNumber: 5 });
      const angle = (angleDeg * Math.PI) / 180;
      expectWithin(400 * walkPerFocus, xUm * Math.cos(angle) + yUm * Math.sin(angle), 1e-9, 'mean slope');
      expectWithin(yUm * Math.cos(angle) - xUm * Math.sin(angle), 0, 1e-9, 'nothing across it');
    }
  });
  test('far out the opening cuts its outer side, and it walks outwards beyond focus', () => {
    const far = star({ edgeFromAxisMm: 18 });
    expect(far.onMirrorFraction).toBeGreaterThan(far.keptFraction + 0.05);
    expect(far.pupil?.clip?.distance).toBeLessThan(1);
    expect(far.walkPerFocus).toBeGreaterThan(0);
  });
  test('where no light arrives there is no pupil', () => {
    const none = star({ edgeFromAxisMm: 12, starOffAxisMm: 40 });
    expect([none.keptFraction, none.pupil, none.walkPerFocus]).toEqual([0, undefined, 0]);
  });
  test('has the aberrations of the design at its place', () => {
    const { aberrations, offAxisMm } = star({});
    expect(aberrations).toEqual(
      offAxisAberrations({
        design: 'paraboloid',
        apertureMm: 150,
        focalLengthMm: 750,
        offAxisMm,
        angleDeg: 90,
      }),
    );
    const { design: _, ...without } = options;
    expect(pickoffClearance(without).star.aberrations).toBeUndefined();
  });
});

describe('the trade-off', () => {
  const rig = smallRig();
  const { apertureMm: _, focalLengthMm: __, obstructionRatio: ___, edgeFromAxisMm: ____, ...mount } = options;
  const tradeOff = pickoffTradeOff(rig, { ...mount, steps: 8 });
  const { depths, best } = tradeOff;
  test('runs from deep to shallow with the deepest allowed place among them', () => {
    const { edgeFromAxisMm: deepest } = deepestPlace(geometry, 90, 0.02);
    expect(depths).toHaveLength(9);
    for (let i = 1; i < depths.length; i++) {
      expect(depths[i].edgeFromAxisMm).toBeGreaterThan(depths[i - 1].edgeFromAxisMm);
      expect(depths[i].star.offAxisMm).toBeGreaterThan(depths[i - 1].star.offAxisMm);
      expect(depths[i].worstLoss).toBeLessThanOrEqual(depths[i - 1].worstLoss);
    }
    expect(depths.some(({ edgeFromAxisMm }) => edgeFromAxisMm === deepest)).toBe(true);
    expectWithin(depths[0].worstLoss, 0.5, 1e-3, 'begins where half the light of a pixel is lost');
  });
  test('the best is allowed and has the least error of those allowed', () => {
    expect(best?.isAllowed).toBe(true);
    const allowed = depths.flatMap(({ isAllowed, error }) =>
      isAllowed && error ? [error.leastErrorArcsec] : [],
    );
    expect(allowed.length).toBeGreaterThan(1);
    expect(best?.error?.leastErrorArcsec).toBe(Math.min(...allowed));
  });
  test('a spot grows with the distance from the axis, by hand for pure coma', () => {
    const corrected = { design: 'corrected' as const, known: { offAxisMm: 10, sagittalComaUm: 6 } };
    const open = { ...mount, openingMm: 80, mirror: { widthMm: 14, depthMm: 14, distanceMm: 45 } };
    const [first] = pickoffTradeOff(
      smallRig({ telescope: { apertureMm: 150, focalLengthMm: 750, obstructionRatio: 0 } }),
      {
        ...open,
        design: corrected,
        steps: 2,
      },
    ).depths;
    expect(first.star.keptFraction).toBe(1);
    // x = Cs rho^2 (2 + cos 2 phi), y = Cs rho^2 sin 2 phi over a disc: <x^2> = 9/6 Cs^2, <y^2> = 1/6 Cs^2,
    // <x> = Cs.
    const coma = 0.6 * first.star.offAxisMm;
    expectWithin(
      first.error?.rmsSpotUm ?? 0,
      coma * Math.sqrt((9 / 6 - 1 + 1 / 6) / 2),
      1e-9 * coma,
      'closed form',
    );
  });
  test('a whole pupil without aberrations is the star of the scene', () => {
    const { design: _design, ...plain } = mount;
    const open = { ...plain, openingMm: 80, mirror: { widthMm: 14, depthMm: 14, distanceMm: 45 } };
    for (const focusShiftUm of [0, 150]) {
      const [first] = pickoffTradeOff(rig, { ...open, focusShiftUm, steps: 2 }).depths;
      const scene = buildScene(rig, { focusShiftUm });
      expectWithin(first.error?.fluxE ?? 0, scene.fluxE, 1e-9 * scene.fluxE, 'all of the light');
      const expected = leastError(scene) * scene.arcsecPerPx;
      expectWithin(
        (first.error?.leastErrorArcsec ?? 0) / expected,
        1,
        0.003,
        'the same ring by rays, on a somewhat larger stamp',
      );
    }
  });
  test('takes the design that the rig names for its star off the axis', () => {
    const corrected = { design: 'corrected', knownAtMm: 10, sagittalComaUm: 4, astigmatismUm: 3 };
    const named = smallRig({ offAxis: { offAxisMm: 15, telescope: corrected } });
    const { design: _design, ...plain } = mount;
    const [{ star }] = pickoffTradeOff(named, { ...plain, steps: 2 }).depths;
    expectWithin(star.aberrations?.sagittalComaUm ?? 0, 0.4 * star.offAxisMm, 1e-12, 'in proportion');
    expectWithin(star.aberrations?.astigmatismUm ?? 0, 0.03 * star.offAxisMm ** 2, 1e-12, 'as the square');
    expect(pickoffTradeOff(rig, { ...plain, steps: 2 }).depths[0].star.aberrations).toBeUndefined();
  });
  test('when every depth that gets light shades too much, there is no best', () => {
    const narrow = { ...mount, openingMm: 20, flangeDistanceMm: 50 };
    const { best: none, depths: all } = pickoffTradeOff(rig, { ...narrow, allowedLossPercent: 0, steps: 4 });
    expect(all.length).toBeGreaterThan(0);
    expect(none).toBeUndefined();
  });
});

describe('a pick-off that cannot exist is refused', () => {
  const cases: readonly (readonly [object, RegExp])[] = [
    [
      { mirror: { ...options.mirror, distanceMm: 57 } },
      /mirror.distanceMm must be <= flange distance .* 56, got 57/,
    ],
    [
      { mirror: { ...options.mirror, distanceMm: 3 } },
      /mirror.distanceMm must be > half its depth, 4, got 3/,
    ],
    [{ mirror: { ...options.mirror, widthMm: 50 } }, /mirror.widthMm must be <= the opening, 44, got 50/],
    [{ mirror: { ...options.mirror, depthMm: 45 } }, /mirror.depthMm must be <= the opening, 44, got 45/],
    [{ mirror: { ...options.mirror, depthMm: -1 } }, /mirror.depthMm must be a finite number > 0, got -1/],
    [{ mirror: undefined }, /mirror must be an object, got undefined/],
    [{ mainSensor: { widthMm: 22, heightMm: 0 } }, /mainSensor.heightMm must be a finite number > 0, got 0/],
    [{ edgeFromAxisMm: -2 }, /edgeFromAxisMm must be a finite number >= 0, got -2/],
    [{ edgeFromAxisMm: 30 }, /edgeFromAxisMm must be < [\d.]+, where the beam ends, got 30/],
    [{ flangeDistanceMm: 0 }, /flangeDistanceMm/],
    [{ openingMm: Number.NaN }, /openingMm/],
    [{ allowedLossPercent: 100 }, /allowedLossPercent must be in \[0, 100\), got 100/],
    [{ obstructionRatio: 1 }, /obstructionRatio/],
    [{ exitPupilDistanceMm: 50 }, /exitPupilDistanceMm must be > the flange distance 60, got 50/],
    [{ angleDeg: Infinity }, /angleDeg/],
    [{ starOffAxisMm: -1 }, /starOffAxisMm/],
    [{ apertureMm: 0 }, /apertureMm/],
  ];
  for (const [changes, message] of cases)
    test(JSON.stringify(changes), () => {
      expect(() => pickoffClearance({ ...options, ...changes } as PickoffOptions)).toThrow(message);
    });
  test('steps of the trade-off', () => {
    const {
      apertureMm: _,
      focalLengthMm: __,
      obstructionRatio: ___,
      edgeFromAxisMm: ____,
      ...mount
    } = options;
    expect(() => pickoffTradeOff(smallRig(), { ...mount, steps: 1 })).toThrow(/steps must be .* got 1/);
  });
});
