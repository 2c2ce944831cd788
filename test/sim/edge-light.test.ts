/** Light that the pick-off's edge diffracts: against the Fraunhofer integral of the cut pupil itself. */
import { describe, expect, test } from 'vitest';
import { edgeLight, flankLight } from '../../packages/sim/src/pickoff/edge-light.ts';
import type { PickoffOptions } from '../../packages/sim/src/pickoff/pickoff-options.ts';
import { expectWithin } from '../expect-within.ts';

const options: PickoffOptions = {
  apertureMm: 150,
  focalLengthMm: 750,
  obstructionRatio: 0.3,
  flangeDistanceMm: 60,
  openingMm: 44,
  mainSensor: { widthMm: 22, heightMm: 15 },
  mirror: { widthMm: 9, depthMm: 8, distanceMm: 45 },
  edgeFromAxisMm: 9,
};
const seeing = { seeingFwhmArcsec: 2.5 };

/**
 * Energy per unit of q along the normal of the cut, within a narrow strip beside it, of a disc of radius 1
 * cut at x = u: the transform is an integral over the chords, F(q, p) = int (exp(-2 pi i q right) - exp(-2 pi
 * i q left)) / (-2 pi i q) exp(-2 pi i p y) dy.
 */
function spikeOfCutDisc(u: number, q: number, strip: number): number {
  const steps = 1500;
  let energy = 0;
  const strips = 41;
  for (let j = 0; j < strips; j++) {
    const p = strip * ((2 * (j + 0.5)) / strips - 1);
    let re = 0;
    let im = 0;
    for (let i = 0; i < steps; i++) {
      const y = (2 * (i + 0.5)) / steps - 1;
      const half = Math.sqrt(1 - y * y);
      const ends: [number, number][] = [
        [Math.min(u, half), 1],
        [-half, -1],
      ];
      if (ends[0][0] <= -half) continue;
      for (const [x, sign] of ends) {
        const phase = -2 * Math.PI * (q * x + p * y);
        re += (sign * Math.sin(phase)) / (-2 * Math.PI * q);
        im += (sign * Math.cos(phase)) / (2 * Math.PI * q);
      }
    }
    energy += ((re * re + im * im) * (2 / steps) ** 2 * 2 * strip) / strips;
  }
  return energy;
}

describe('light diffracted by the edge', () => {
  test('the edge term of the Fraunhofer integral: a spike of L / (4 pi^2 q^2) of the light per q', () => {
    // Disc cut at u: chord L = 2 sqrt(1 - u^2). The strip holds the spike, 1 / L wide, and little of the
    // rim's own wings.
    const u = 0.6;
    const chord = 2 * Math.sqrt(1 - u * u);
    // The mean over a fringe: the rim on the far side interferes.
    const qs = Array.from({ length: 16 }, (_, k) => 30 + k / 7);
    const mean = qs.reduce((sum, q) => sum + spikeOfCutDisc(u, q, 3 / chord) * q * q, 0) / qs.length;
    expectWithin(
      mean,
      chord / (4 * Math.PI ** 2),
      (0.12 * chord) / (4 * Math.PI ** 2),
      'strip and rim: 12 %',
    );
  });
  test('the number follows by hand from the length of the edge', () => {
    const found = edgeLight(options, seeing);
    if (found === undefined) throw new Error('no edge in the beam');
    const { edgeMm, star, belowStarMag, profile } = found;
    expect(edgeMm).toBeGreaterThan(10);
    expect(edgeMm).toBeLessThan(150);
    const areaMm2 = ((Math.PI * 150 ** 2) / 4) * (1 - 0.09) * (1 - star.loss);
    const share = (2 * edgeMm * 550e-6) / (4 * Math.PI ** 2 * areaMm2 * (5 / 206264.806));
    expectWithin(belowStarMag, -2.5 * Math.log10(share), 1e-9, 'derived');
    // Ten times as far a spike is 5 mag fainter per square arcsec.
    const at = (arcsec: number) => profile.find((point) => point.arcsec === arcsec)?.magPerArcsec2 ?? 0;
    expectWithin(at(100) - at(10), 5, 1e-9, '1 / theta^2');
  });
  test('an edge that stands clear of every beam diffracts nothing', () => {
    expect(edgeLight({ ...options, edgeFromAxisMm: 16 }, seeing)).toBeUndefined();
  });
  test('a flank of 1 mm that reflects 5 %, by hand', () => {
    // f/5: slope 0.1 and the chief ray's 9 / 750; beam at 49 mm: 4.9 mm in radius.
    const share = (2 * (0.1 + 9 / 750)) / (Math.PI * 4.9);
    expectWithin(flankLight(options).belowStarMag, -2.5 * Math.log10(0.05 * share), 1e-9, 'derived');
  });
  test('refuses a seeing that cannot be', () => {
    expect(() => edgeLight(options, { seeingFwhmArcsec: 0 })).toThrow(/seeingFwhmArcsec must be/);
  });
});
