import { type AnnulusShape, prepareStar, renderStar } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { gaussLegendre } from '../../packages/psf/src/numerics/quadrature.ts';
import { expectWithin } from '../expect-within.ts';
import { describeShapeContract, type ShapeFacts } from './shape-contract.ts';
import { normalBelow } from './sum-of-gaussians.ts';

const fwhmPerSigma = 2 * Math.sqrt(2 * Math.log(2));
const ring = (radius: number, obstructionRatio: number, sigma: number): AnnulusShape => ({
  kind: 'annulus',
  outerDiameterPx: 2 * radius,
  obstructionRatio,
  blurFwhmPx: sigma * fwhmPerSigma,
});

const facts: ShapeFacts = {
  reachPx: 24,
  outside: 1e-9,
  pixelError: 1e-8,
  // Well below the 1e-5 px that errors of 1e-8 in 2500 pixels could make if they all had the worst sign.
  momentErrorPx: 1e-6,
  refused: [
    ['outerDiameterPx', -1],
    ['outerDiameterPx', 1e7],
    ['outerDiameterPx', Number.NaN],
    ['outerDiameterPx', '12'],
    ['obstructionRatio', 1],
    ['obstructionRatio', -0.1],
    ['obstructionRatio', undefined],
    ['blurFwhmPx', -2],
    ['blurFwhmPx', Infinity],
    ['blurFwhmPx', 2e4],
  ],
};
describeShapeContract('ring', ring(6, 0.4, 1.2), facts);
describeShapeContract('disc', ring(8, 0, 1.5), facts);
describeShapeContract('thin ring', ring(7.3, 0.97, 1), facts);
describeShapeContract('ring lost in its blur', ring(0.8, 0.3, 2), facts);
describeShapeContract('ring in focus', ring(0, 0.3, 1.3), facts);
// Coarse pixels pull the center of mass of a star with sharp edges: measured 1.0e-3 and 3.3e-3 px here.
describeShapeContract('ring with little blur', ring(5, 0.35, 0.05), { ...facts, momentErrorPx: 0.002 });
describeShapeContract('ring without blur', ring(6, 0.4, 0), { ...facts, momentErrorPx: 0.005 });

/**
 * The light in a pixel as an integral over the ring in polar coordinates of a Gaussian integrated over that
 * pixel: no chords, no table, no edge.
 */
function polarBruteForce({ radius, eps, s }: Ring, dx: number, dy: number): number {
  const inner = eps * radius;
  const panels = Math.max(1, Math.ceil((radius - inner) / (2 * s)));
  const half = (radius - inner) / (2 * panels);
  const steps = 4 * Math.ceil((7 * radius) / s / 4 + 6);
  const { nodes, weights } = gaussLegendre(16);
  const reach = 7.5 * s + 0.5;
  let sum = 0;
  for (let p = 0; p < panels; p++)
    for (let n = 0; n < 16; n++) {
      const r = inner + half * (2 * p + 1 + nodes[n]);
      if (Math.abs(r - Math.hypot(dx, dy)) > 1.5 * reach) continue;
      let around = 0;
      for (let k = 0; k < steps; k++) {
        const u = dx - r * Math.cos((2 * Math.PI * (k + 0.5)) / steps);
        const v = dy - r * Math.sin((2 * Math.PI * (k + 0.5)) / steps);
        if (Math.abs(u) > reach || Math.abs(v) > reach) continue;
        around +=
          (normalBelow((u + 0.5) / s) - normalBelow((u - 0.5) / s)) *
          (normalBelow((v + 0.5) / s) - normalBelow((v - 0.5) / s));
      }
      sum += half * weights[n] * r * around * ((2 * Math.PI) / steps);
    }
  return sum / (Math.PI * radius * radius * (1 - eps * eps));
}

interface Ring {
  readonly radius: number;
  readonly eps: number;
  readonly s: number;
}

describe('ring', () => {
  const rings: Ring[] = [
    { radius: 0.05, eps: 0.3, s: 1 },
    { radius: 0.02, eps: 0.5, s: 0.1 },
    { radius: 0.3, eps: 0.9, s: 1 },
    { radius: 1, eps: 0.5, s: 1 },
    { radius: 30, eps: 0.35, s: 10 },
    { radius: 6, eps: 0.4, s: 1.2 },
    { radius: 6, eps: 0.99, s: 1.2 },
    { radius: 6, eps: 0.9999, s: 1.2 },
    { radius: 3, eps: 0.3, s: 0.3 },
    { radius: 10, eps: 0, s: 1 },
    { radius: 20, eps: 0.5, s: 1 },
    { radius: 3, eps: 0.4, s: 0.03 },
    { radius: 6, eps: 0.35, s: 0.02 },
  ];
  test.each(rings)(
    'each pixel is within 1e-8 of brute force: R = $radius, obstruction $eps, blur $s',
    (shape) => {
      const { radius, eps, s } = shape;
      const size = { width: 33, height: 31 };
      for (const [x, y] of [
        [16.3, 14.8],
        [15.5, 15.5],
        [16, 15.5],
      ]) {
        const star = renderStar(ring(radius, eps, s), { ...size, x, y, flux: 1 });
        // Pixels on both edges, within the ring and in its hole.
        for (let k = 0; k < 12; k++) {
          const r = [radius, eps * radius, (k / 12) * radius, radius + 2 * s][k % 4];
          const i = Math.min(32, Math.max(0, Math.round(x + r * Math.cos(1.9 * k))));
          const j = Math.min(30, Math.max(0, Math.round(y + r * Math.sin(1.9 * k))));
          expectWithin(
            star.get(j, i),
            polarBruteForce(shape, i - x, j - y),
            1e-8,
            'the bound that prepareAnnulus states',
          );
        }
      }
    },
  );

  test('second moment is s^2 + R^2 (1 + obstruction^2) / 4, and 1/12 px^2 for the pixel', () => {
    for (const { radius, eps, s } of rings.filter(({ radius, s }) => radius + 7 * s < 40 && s >= 1)) {
      const at = { width: 97, height: 94, x: 47.3, y: 46.1, flux: 1 };
      const star = renderStar(ring(radius, eps, s), at).data;
      let xx = 0;
      let yy = 0;
      let xy = 0;
      for (let k = 0; k < star.length; k++) {
        const dx = (k % at.width) - at.x;
        const dy = Math.floor(k / at.width) - at.y;
        xx += star[k] * dx * dx;
        yy += star[k] * dy * dy;
        xy += star[k] * dx * dy;
      }
      const expected = s * s + (radius * radius * (1 + eps * eps)) / 4 + 1 / 12;
      const tolerance = 2e-6;
      expectWithin(xx, expected, tolerance, 'pixel errors weighed with their distance squared');
      expectWithin(yy, expected, tolerance, 'pixel errors weighed with their distance squared');
      expectWithin(xy, 0, tolerance, 'a circle has none');
    }
  });

  test('goes over into the star in focus without a jump', () => {
    const at = { width: 19, height: 16, x: 9.3, y: 7.6, flux: 1 };
    for (const s of [0.1, 0.5, 1.2])
      for (const eps of [0, 0.4, 0.9]) {
        const below = renderStar(ring(0.01 * s * (1 - 1e-9), eps, s), at).data;
        const above = renderStar(ring(0.01 * s * (1 + 1e-9), eps, s), at).data;
        const focused = renderStar({ kind: 'gaussian', fwhmPx: s * fwhmPerSigma }, at).data;
        const inFocus = renderStar(ring(0, eps, s), at).data;
        for (let k = 0; k < below.length; k++) {
          expectWithin(above[k], below[k], 3e-10, 'the Gaussian of the same second moment, (R / s)^4 off');
          expectWithin(inFocus[k], focused[k], 1e-15, 'no ring at all: the blur itself');
          // (R / s)^2 / 8 of the light at most spreads: 1e-4 / 8 at R = s / 100.
          expectWithin(below[k], focused[k], 1.3e-5, 'nearly in focus');
        }
      }
  });

  test('sizes at the ends of their ranges give light, not nonsense', () => {
    const at = { width: 9, height: 8, x: 4.3, y: 3.6, flux: 1 };
    for (const diameter of [0, 1e-300, 1e-9, 1e-3, 1, 1e3, 1e6])
      for (const blurFwhmPx of [0, 1e-300, 1e-12, 1e-6, 1e-3, 1, 1e4])
        for (const obstructionRatio of [0, 1e-9, 0.5, 0.9999]) {
          // A million edge points draw slowly, and are tested above.
          if (diameter / blurFwhmPx > 3e3 && diameter / blurFwhmPx < 2e5) continue;
          const shape = { kind: 'annulus', outerDiameterPx: diameter, obstructionRatio, blurFwhmPx } as const;
          const star = renderStar(shape, at).data;
          const sum = star.reduce((a, b) => a + b, 0);
          expect(star.every((value) => value >= 0 && value <= 1 + 1e-8)).toBe(true);
          if (diameter <= 1 && blurFwhmPx <= 1e-3) expectWithin(sum, 1, 1e-8, 'all of it on the stamp');
        }
  });

  test('a ring with all but no obstruction is a disc', () => {
    const at = { width: 27, height: 22, x: 12.3, y: 11.6, flux: 1 };
    const disc = renderStar(ring(6, 0, 1.2), at).data;
    const nearly = renderStar(ring(6, 1e-6, 1.2), at).data;
    for (let k = 0; k < disc.length; k++) expectWithin(nearly[k], disc[k], 4e-9, 'their own errors');
  });

  test('a point without blur is in the pixel that holds it, or shared by those on whose border it lies', () => {
    const plan = prepareStar(ring(0, 0.4, 0), { width: 7, height: 6 });
    const out = new Float64Array(42);
    expect(plan.renderInto(out, 3.49, 2.2, 80)).toBe(1);
    expect(out[2 * 7 + 3]).toBe(80);
    plan.renderInto(out, 3.5, 2.2, 80);
    expect([out[2 * 7 + 3], out[2 * 7 + 4]]).toEqual([40, 40]);
    plan.renderInto(out, 3.5, 2.5, 80);
    expect([out[2 * 7 + 3], out[2 * 7 + 4], out[3 * 7 + 3], out[3 * 7 + 4]]).toEqual([20, 20, 20, 20]);
    const tiny = renderStar(ring(1e-8, 0.4, 0), { width: 7, height: 6, x: 3.5, y: 2.2, flux: 1 });
    expectWithin(tiny.get(2, 3), 0.5, 1e-12, 'a real ring, half on either side');
  });

  describe('without blur', () => {
    /**
     * Overlap of a disc around the origin with a pixel: chords along x, clipped; fine steps where they are
     * cut.
     */
    function discOverlap(radius: number, dx: number, dy: number): number {
      const { nodes, weights } = gaussLegendre(20);
      const cuts = [dy - 0.5, dy + 0.5, -radius, radius];
      for (const edge of [dx - 0.5, dx + 0.5])
        if (Math.abs(edge) < radius)
          cuts.push(Math.sqrt(radius ** 2 - edge ** 2), -Math.sqrt(radius ** 2 - edge ** 2));
      const within = cuts.filter((v) => v >= dy - 0.5 && v <= dy + 0.5).sort((a, b) => a - b);
      let area = 0;
      for (let c = 1; c < within.length; c++) {
        // v = middle + half * (3 t - t^3) / 2 takes the root of a chord's length out of the ends.
        const half = (within[c] - within[c - 1]) / 2;
        const middle = (within[c] + within[c - 1]) / 2;
        for (let n = 0; n < 20; n++) {
          const t = nodes[n];
          const v = middle + (half * (3 * t - t ** 3)) / 2;
          const chord = Math.sqrt(Math.max(0, radius ** 2 - v ** 2));
          const length = Math.max(0, Math.min(dx + 0.5, chord) - Math.max(dx - 0.5, -chord));
          area += weights[n] * half * 1.5 * (1 - t * t) * length;
        }
      }
      return area;
    }

    test.each([
      [6, 0.4],
      [0.2, 0],
      [0.5, 0.5],
      [0.8, 0.9],
      [11.3, 0.25],
    ])('each pixel is the area it shares with the ring: R = %f, obstruction %f', (radius, eps) => {
      const size = { width: 27, height: 24 };
      for (const [x, y] of [
        [12.3, 11.8],
        [13, 11],
        [12.5, 11.5],
        [3.2, -1.4],
      ]) {
        const star = renderStar(ring(radius, eps, 0), { ...size, x, y, flux: 1 });
        const area = Math.PI * radius ** 2 * (1 - eps ** 2);
        for (let j = 0; j < size.height; j++)
          for (let i = 0; i < size.width; i++) {
            const outer = discOverlap(radius, i - x, j - y);
            const inner = eps > 0 ? discOverlap(eps * radius, i - x, j - y) : 0;
            expectWithin(star.get(j, i), (outer - inner) / area, 1e-10, 'the 20 chords of the comparison');
          }
      }
    });

    test('inside a large disc pixels are all alike, to rounding', () => {
      const star = renderStar(ring(500, 0, 0), { width: 20, height: 14, x: 9.3, y: 6.1, flux: 1 }).data;
      for (const value of star)
        expectWithin(value * Math.PI * 500 ** 2, 1, 1e-9, 'rounding of areas near 8e5');
    });

    test('leaving out a small blur moves 0.26 (s / R)^(3/2) / (1 - obstruction^2) over a border it touches', () => {
      const size = { width: 25, height: 22 };
      for (const [radius, eps, ratio] of [
        [6.2, 0, 300],
        [6.2, 0.4, 3000],
        [9.7, 0.7, 3000],
        [6.2, 0, 5e4],
      ]) {
        // The outer edge touches the border at x = 19.5 from inside.
        const at = { ...size, x: 19.5 - radius, y: 11, flux: 1 };
        const sharp = renderStar(ring(radius, eps, 0), at);
        const soft = renderStar(ring(radius, eps, radius / ratio), at);
        const moved = (0.2581 * ratio ** -1.5) / (1 - eps ** 2);
        let over = 0;
        for (let j = 0; j < size.height; j++) over += soft.get(j, 20) - sharp.get(j, 20);
        expectWithin(over / moved, 1, 0.02, 'the next order, s / R');
        let most = 0;
        for (let k = 0; k < sharp.data.length; k++)
          most = Math.max(most, Math.abs(sharp.data[k] - soft.data[k]));
        expectWithin(most / moved, 1, 0.35, 'nowhere much more');
      }
    });

    test('beyond R = 100,000 s the blur is left out without a visible step', () => {
      const at = { width: 17, height: 14, x: 8.3, y: 6.6, flux: 1 };
      const drawn = renderStar(ring(5, 0.4, 5.001e-5), at).data;
      const left = renderStar(ring(5, 0.4, 4.999e-5), at).data;
      for (let k = 0; k < drawn.length; k++)
        expectWithin(left[k], drawn[k], 1e-8, 'the bound that is stated');
    });
  });
});
