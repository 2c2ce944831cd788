/**
 * The shadow of a pick-off, worked by hand where a cone is cut by a straight edge, and counted ray by ray
 * where it is not: rays from a grid over the exit pupil to a point of the sensor, each met with the tilted
 * mirror in space.
 */
import { describe, expect, test } from 'vitest';
import { pickoffClearance, pickoffShadow } from '../../packages/sim/src/pickoff/pickoff.ts';
import { exitPupilDistance } from '../../packages/sim/src/pickoff/pickoff-exit-pupil.ts';
import { pickoffGeometry } from '../../packages/sim/src/pickoff/pickoff-geometry.ts';
import type { PickoffOptions } from '../../packages/sim/src/pickoff/pickoff-options.ts';
import { keptFraction, takenFraction } from '../../packages/sim/src/pickoff/shadow.ts';
import { expectWithin } from '../expect-within.ts';
import { checkPublished } from './published.ts';

/**
 * F/5, telecentric, no obstruction, a mirror that is wide and deep: its inner edge alone cuts, 50 mm above
 * the sensor.
 */
const wide: PickoffOptions = {
  apertureMm: 200,
  focalLengthMm: 1000,
  obstructionRatio: 0,
  exitPupilDistanceMm: Infinity,
  flangeDistanceMm: 70,
  openingMm: 60,
  mainSensor: { widthMm: 24, heightMm: 16 },
  mirror: { widthMm: 40, depthMm: 30, distanceMm: 35 },
  edgeFromAxisMm: 12,
};

describe('a straight edge in the cone, worked by hand', () => {
  // The cone has a radius of 50 / (2 * 5) = 5 mm at the edge; the edge stands at 12 mm.
  const source = 'derived by hand';
  const { shadow } = pickoffClearance(wide);
  for (const [what, value, ours] of [
    ['half-shade begins, mm from the axis (12 - 5)', 7, shadow.penumbraFromAxisMm],
    ['full shade begins, mm from the axis (12 + 5)', 17, shadow.umbraFromAxisMm ?? Number.NaN],
  ] as const)
    checkPublished({ what, value, tolerance: 1e-12, source, note: 'rounding' }, () => ours);

  // Share of a disc beyond a chord at c radii: (acos c - c sqrt(1 - c^2)) / pi. The disc's center is at s, so
  // c = (12 - s) / 5.
  for (const [c, keptPercent] of [
    [0.9, 98.131],
    [0.7, 90.594],
    [0.5, 80.45],
    [0, 50],
  ] as const)
    checkPublished(
      {
        what: `share kept, %, where the edge cuts the cone at ${c} of its radius`,
        value: keptPercent,
        tolerance: 6e-4,
        source: 'area of a circular segment, derived, confirmed numerically',
        note: 'digits given',
      },
      () => 100 * (1 - pickoffShadow(wide)(0, 12 - 5 * c)),
    );
  checkPublished(
    {
      what: 'largest loss on the sensor, at the middle of its long side, 8 mm from the axis (c = 0.8)',
      value: 0.0520440193,
      tolerance: 1e-9,
      source: 'area of a circular segment beyond 0.8 radii: (acos 0.8 - 0.48) / pi',
      note: 'ten digits',
    },
    () => shadow.worst.loss,
  );
  test('with an obstruction of half the aperture the annulus loses what its two discs differ by', () => {
    const segment = (c: number) => Math.acos(c) - c * Math.sqrt(1 - c * c);
    for (const c of [0.9, 0.6, 0.4, 0.1]) {
      const inner = c < 0.5 ? 0.25 * segment(c / 0.5) : 0;
      expectWithin(
        pickoffShadow({ ...wide, obstructionRatio: 0.5 })(0, 12 - 5 * c),
        (segment(c) - inner) / (0.75 * Math.PI),
        1e-12,
        'closed form',
      );
    }
  });
  test('a beam that comes from a near exit pupil is nearer to the axis at the mirror', () => {
    // Exit pupil 500 mm away: 50 mm above the sensor the cone of s is centered on 0.9 s.
    const { shadow: converging } = pickoffClearance({ ...wide, exitPupilDistanceMm: 500 });
    expectWithin(converging.penumbraFromAxisMm, 7 / 0.9, 1e-12, 'by hand');
    expectWithin(converging.umbraFromAxisMm ?? 0, 17 / 0.9, 1e-12, 'by hand');
  });
});

describe('exit pupil of two mirrors', () => {
  // f1 = 500, m = 4, b = 0.25: k = 0.25, mirrors 375 mm apart, f2 = 166.67, focus 500 mm behind the second
  // mirror.
  const telescope = { apertureMm: 250, focalLengthMm: 2000 };
  checkPublished(
    {
      what: 'exit pupil to focus, mm, of 250 mm F/8 with an F/2 first mirror and 125 mm behind it',
      value: 500 + (375 * (500 / 3)) / (375 + 500 / 3),
      tolerance: 1e-9,
      source: 'thin-lens formula, by hand',
      note: 'rounding',
    },
    () =>
      exitPupilDistance({
        ...telescope,
        design: { design: 'classical-cassegrain', primaryFNumber: 2, backFocusMm: 125 },
      }),
  );
  test('its diameter by the second mirror agrees with the F-number', () => {
    for (const m of [2.5, 3, 4, 6])
      for (const backFocusMm of [-50, 100, 200]) {
        const f1 = 2000 / m;
        const k = (1 + backFocusMm / f1) / (m + 1);
        const [apart, f2] = [(1 - k) * f1, (k * m * f1) / (m - 1)];
        const distance = exitPupilDistance({
          ...telescope,
          design: { design: 'ritchey-chretien', secondaryMagnification: m, backFocusMm },
        });
        // Image of the first mirror in the second: smaller by image distance over object distance.
        const diameter = (250 * ((apart * f2) / (apart + f2))) / apart;
        expectWithin(distance / diameter, 8, 1e-9, 'F/8');
      }
  });
});

describe('counted ray by ray', () => {
  interface Beam {
    readonly options: PickoffOptions;
    readonly exitPupilMm: number;
  }
  /**
   * Share of rays to the focal point (along, across) that meet the mirror, and of those that pass the opening
   * too.
   */
  function countRays({ options, exitPupilMm }: Beam, along: number, across: number) {
    const {
      apertureMm,
      focalLengthMm,
      obstructionRatio,
      mirror,
      edgeFromAxisMm,
      flangeDistanceMm,
      openingMm,
    } = options;
    const radius = (exitPupilMm * apertureMm) / focalLengthMm / 2;
    // The mirror's plane: what lies farther from the axis lies lower. Light from above leaves outwards.
    const plane = edgeFromAxisMm + mirror.distanceMm + mirror.depthMm / 2;
    const side = 500;
    let [all, met, passed] = [0, 0, 0];
    for (let i = 0; i < side; i++)
      for (let j = 0; j < side; j++) {
        const px = ((2 * (i + 0.5)) / side - 1) * radius;
        const py = ((2 * (j + 0.5)) / side - 1) * radius;
        const r = Math.hypot(px, py);
        if (r > radius || r < obstructionRatio * radius) continue;
        all++;
        // The ray stands at u = along + (px - along) z / P at the height z.
        const slope = (px - along) / exitPupilMm;
        const z = (plane - along) / (1 + slope);
        const u = along + slope * z;
        const v = across + ((py - across) / exitPupilMm) * z;
        if (u < edgeFromAxisMm || u > edgeFromAxisMm + mirror.depthMm || Math.abs(v) > mirror.widthMm / 2)
          continue;
        met++;
        const atOpening = Math.hypot(
          along + slope * flangeDistanceMm,
          across + ((py - across) / exitPupilMm) * flangeDistanceMm,
        );
        if (atOpening <= openingMm / 2) passed++;
      }
    return { met: met / all, passed: passed / all };
  }
  const beams: Record<string, Beam> = {
    'F/4, obstructed': {
      exitPupilMm: 800,
      options: {
        apertureMm: 200,
        focalLengthMm: 800,
        obstructionRatio: 0.35,
        flangeDistanceMm: 55,
        openingMm: 34,
        mainSensor: { widthMm: 23.5, heightMm: 15.7 },
        mirror: { widthMm: 10, depthMm: 8, distanceMm: 40 },
        edgeFromAxisMm: 11,
      },
    },
    'F/8 with a near exit pupil': {
      exitPupilMm: 450,
      options: {
        apertureMm: 250,
        focalLengthMm: 2000,
        obstructionRatio: 0.46,
        flangeDistanceMm: 110,
        openingMm: 42,
        exitPupilDistanceMm: 450,
        mainSensor: { widthMm: 36, heightMm: 24 },
        mirror: { widthMm: 6, depthMm: 10, distanceMm: 85 },
        edgeFromAxisMm: 12,
      },
    },
    'F/2.5, a small mirror in a wide cone': {
      exitPupilMm: 500,
      options: {
        apertureMm: 200,
        focalLengthMm: 500,
        obstructionRatio: 0.5,
        flangeDistanceMm: 60,
        openingMm: 60,
        mainSensor: { widthMm: 36, heightMm: 24 },
        mirror: { widthMm: 5, depthMm: 7, distanceMm: 30 },
        edgeFromAxisMm: 13,
      },
    },
  };
  for (const [name, beam] of Object.entries(beams))
    test(`${name}: loss of the main sensor, light of the guide star`, () => {
      const geometry = pickoffGeometry(beam.options);
      const edge = beam.options.edgeFromAxisMm;
      let partly = 0;
      let cut = 0;
      for (let i = 0; i <= 6; i++)
        for (const across of [0, 2.3, 5.1]) {
          const along = edge - 7 + 3.5 * i;
          const counted = countRays(beam, along, across);
          const taken = takenFraction(geometry, edge, { along, across });
          const kept = keptFraction(geometry, edge, { along, across });
          const why = `a count on a grid of 500 x 500 rays, along ${along}, across ${across}`;
          expectWithin(taken, counted.met, 1.5e-3, why);
          expectWithin(kept, counted.passed, 1.5e-3, `${why}, through the opening`);
          if (taken > 0.02 && taken < 0.98) partly++;
          if (kept < taken - 0.02) cut++;
        }
      expect(partly).toBeGreaterThan(7);
      if (name !== 'F/2.5, a small mirror in a wide cone') expect(cut).toBeGreaterThan(0);
    });
});
