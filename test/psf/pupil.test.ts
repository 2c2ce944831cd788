/** Pupils: exact rows, gray grids and moments, against counting and against rotation. */
import { type Pupil, pupilMoments } from '@holdfast/psf';
import { pupilGrid } from '@holdfast/psf/internal';
import { describe, expect, test } from 'vitest';
import { pupilNodes } from '../../packages/psf/src/waves/pupil-moments.ts';
import { pupilRows } from '../../packages/psf/src/waves/pupil-rows.ts';
import { expectWithin } from '../expect-within.ts';

/** Everything at once, nothing symmetric. */
const crowded: Pupil = {
  obstructionRatio: 0.35,
  obstructionCenter: { x: 0.05, y: -0.08 },
  vanes: { count: 3, widthRatio: 0.015, angleDeg: 17 },
  clip: { distance: 0.7, angleDeg: 200 },
  footprint: { width: 1.7, height: 1.2, x: 0.1, y: 0.15, angleDeg: 33 },
  illumination: { gradient: 0.3, angleDeg: 100, radial: -0.2 },
};

/** The definitions of the interfaces, word for word: the intensity at a point. */
function lightAt(pupil: Pupil, x: number, y: number): number {
  const radians = (degrees = 0) => (degrees * Math.PI) / 180;
  const along = (angleDeg: number | undefined, u: number, v: number) =>
    u * Math.cos(radians(angleDeg)) + v * Math.sin(radians(angleDeg));
  const { obstructionRatio, obstructionCenter: center = { x: 0, y: 0 }, vanes, clip, footprint } = pupil;
  if (Math.hypot(x, y) > 1 || Math.hypot(x - center.x, y - center.y) < obstructionRatio) return 0;
  if (clip && along(clip.angleDeg, x, y) > clip.distance) return 0;
  if (footprint) {
    const { width, height, x: fx = 0, y: fy = 0, angleDeg = 0 } = footprint;
    if (Math.abs(along(angleDeg, x - fx, y - fy)) > width / 2) return 0;
    if (Math.abs(along(angleDeg + 90, x - fx, y - fy)) > height / 2) return 0;
  }
  for (let k = 0; vanes && k < vanes.count; k++) {
    const angle = (vanes.angleDeg ?? 0) + (360 * k) / vanes.count;
    const out = along(angle, x - center.x, y - center.y);
    if (out > 0 && Math.abs(along(angle + 90, x - center.x, y - center.y)) < vanes.widthRatio) return 0;
  }
  const { gradient = 0, angleDeg = 0, radial = 0 } = pupil.illumination ?? {};
  return 1 + gradient * along(angleDeg, x, y) + radial * (x * x + y * y);
}

describe('rows', () => {
  test('a line meets the light where the definitions say so', () => {
    const rows = pupilRows(crowded);
    const wrong: string[] = [];
    for (let j = -99; j <= 99; j++) {
      const y = j / 100 + 1.234e-5;
      const count = rows.cut(y);
      for (let i = -400; i <= 400; i++) {
        const x = i / 390 + 2.345e-6;
        let open = false;
        for (let k = 0; k < count; k++) open ||= rows.stretches[2 * k] < x && x < rows.stretches[2 * k + 1];
        if (open !== lightAt(crowded, x, y) > 0) wrong.push(`(${x}, ${y})`);
      }
    }
    expect(wrong).toEqual([]);
  });

  test('stretches are ascending and apart', () => {
    const rows = pupilRows(crowded);
    for (let j = -99; j <= 99; j++) {
      const ends = rows.stretches.slice(0, 2 * rows.cut(j / 100));
      for (let k = 1; k < ends.length; k++) expect(ends[k]).toBeGreaterThan(ends[k - 1]);
    }
  });
});

describe('moments', () => {
  const { transmitted, x, y, xx, xy, yy } = pupilMoments(crowded);

  test('they are those of counted points', () => {
    const n = 1500;
    const sum = new Float64Array(6);
    for (let j = 0; j < n; j++)
      for (let i = 0; i < n; i++) {
        const u = (2 * i + 1) / n - 1;
        const v = (2 * j + 1) / n - 1;
        const light = lightAt(crowded, u, v);
        [1, u, v, u * u, u * v, v * v].forEach((power, k) => {
          sum[k] += light * power;
        });
      }
    const why = 'the edges of a count on 1500 x 1500 points';
    expectWithin((sum[0] * 4) / n / n / Math.PI, transmitted, 3e-5, why);
    expectWithin(sum[1] / sum[0], x, 3e-5, why);
    expectWithin(sum[2] / sum[0], y, 3e-5, why);
    expectWithin(sum[3] / sum[0] - x * x, xx, 3e-5, why);
    expectWithin(sum[4] / sum[0] - x * y, xy, 3e-5, why);
    expectWithin(sum[5] / sum[0] - y * y, yy, 3e-5, why);
  });

  test.each([30, 90, 137.5])('a pupil turned by %f degrees has turned moments', (turnDeg) => {
    const turned = turn(crowded, turnDeg);
    const ours = pupilMoments(turned);
    const c = Math.cos((turnDeg * Math.PI) / 180);
    const s = Math.sin((turnDeg * Math.PI) / 180);
    const why = 'the stated accuracy of the quadrature; the rows of a turned pupil are other rows';
    expectWithin(ours.transmitted, transmitted, 1e-12, why);
    expectWithin(ours.x, c * x - s * y, 1e-12, why);
    expectWithin(ours.y, s * x + c * y, 1e-12, why);
    expectWithin(ours.xx, c * c * xx - 2 * c * s * xy + s * s * yy, 1e-12, why);
    expectWithin(ours.xy, c * s * (xx - yy) + (c * c - s * s) * xy, 1e-12, why);
    expectWithin(ours.yy, s * s * xx + 2 * c * s * xy + c * c * yy, 1e-12, why);
  });

  test('nodes integrate polynomials of the degree asked for: mean of rho^8 and x^6 y^2 over the disc', () => {
    const nodes = pupilNodes({ obstructionRatio: 0 }, 8);
    let eighth = 0;
    let mixed = 0;
    for (let k = 0; k < nodes.weights.length; k++) {
      eighth += nodes.weights[k] * (nodes.x[k] ** 2 + nodes.y[k] ** 2) ** 4;
      mixed += nodes.weights[k] * nodes.x[k] ** 6 * nodes.y[k] ** 2;
    }
    expectWithin(eighth, Math.PI / 5, 1e-13, 'integral of rho^8 is 2 pi / 10');
    expectWithin(mixed, Math.PI / 128, 1e-13, 'derived: 2 pi / 10 times 5 / 128, the mean of cos^6 sin^2');
  });
});

describe('grids', () => {
  test('cells are gray where an edge runs through them, open or closed elsewhere', () => {
    const n = 24;
    const grid = pupilGrid({ ...crowded, illumination: {} }, n);
    const fine = 50;
    let gray = 0;
    for (let j = 0; j < n; j++)
      for (let i = 0; i < n; i++) {
        let count = 0;
        for (let b = 0; b < fine; b++)
          for (let a = 0; a < fine; a++) {
            const x = (2 * (i + (a + 0.5) / fine)) / n - 1;
            const y = (2 * (j + (b + 0.5) / fine)) / n - 1;
            if (lightAt({ ...crowded, illumination: {} }, x, y) > 0) count++;
          }
        const counted = count / fine / fine;
        if (counted > 0 && counted < 1) gray++;
        expectWithin(
          grid[j * n + i],
          counted,
          0.04,
          'the stated 0.02 and as much for an edge along a column of counted points',
        );
      }
    expect(gray).toBeGreaterThan(60);
  });

  test.each([16, 64, 256])('the open area on %i cells a side is that of the moments', (n) => {
    const { illumination: _, ...open } = crowded;
    const lying = { obstructionRatio: 0.35, vanes: { count: 4, widthRatio: 0.01 } };
    for (const pupil of [open, lying]) {
      const area = pupilGrid(pupil, n).reduce((sum, part) => sum + part, 0) * (2 / n) ** 2;
      const why = 'the stated accuracy of the grid';
      expectWithin(area / Math.PI, pupilMoments(pupil).transmitted, 0.001 / n ** 1.5, why);
    }
  });

  test('a symmetric pupil has a symmetric grid', () => {
    const n = 33;
    const grid = pupilGrid({ obstructionRatio: 0.4, vanes: { count: 4, widthRatio: 0.02 } }, n);
    for (let j = 0; j < n; j++)
      for (let i = 0; i < n; i++) {
        expectWithin(grid[j * n + i], grid[(n - 1 - j) * n + i], 1e-12, 'rounding');
        expectWithin(grid[j * n + i], grid[j * n + (n - 1 - i)], 1e-12, 'rounding');
      }
  });
});

describe('refusals', () => {
  test.each<[string, object]>([
    ['pupil.obstructionRatio must be in [0, 1), got 1', { obstructionRatio: 1 }],
    ['pupil.obstructionCenter.x must be in [-2, 2], got 3', { obstructionCenter: { x: 3, y: 0 } }],
    [
      'pupil.vanes.count must be a whole number from 1 to 64, got 1.5',
      { vanes: { count: 1.5, widthRatio: 0.1 } },
    ],
    ['pupil.vanes.widthRatio must be a finite number > 0, got 0', { vanes: { count: 3, widthRatio: 0 } }],
    ['pupil.clip.distance must be a finite number, got NaN', { clip: { distance: Number.NaN } }],
    ['pupil.footprint.width must be a finite number > 0, got -1', { footprint: { width: -1, height: 1 } }],
    [
      'pupil.illumination: its least intensity must be a finite number >= 0, got -0.5',
      { illumination: { gradient: 1.5 } },
    ],
    [
      'pupil.illumination: its least intensity must be a finite number >= 0, got -0.25',
      { illumination: { gradient: 2, radial: 0.75 } },
    ],
    ['pupil must pass light, got none', { clip: { distance: -1.5 } }],
    ['pupil must pass light, got none', { footprint: { width: 0.1, height: 0.1 } }],
  ])('%s', (message, part) => {
    const pupil = { obstructionRatio: 0.2, ...part } as Pupil;
    expect(() => pupilMoments(pupil)).toThrow(message);
  });

  test('the least intensity is found inside the disc too', () => {
    // 1 - 2 t + r t^2 is least at t = 1/r: 1 - 1/r.
    expect(() => pupilMoments({ obstructionRatio: 0, illumination: { gradient: 2, radial: 0.99 } })).toThrow(
      /least intensity/,
    );
    expect(
      pupilMoments({ obstructionRatio: 0, illumination: { gradient: 2, radial: 1.01 } }).transmitted,
    ).toBeGreaterThan(0);
  });
});

/** The same pupil turned toward +y. */
function turn(pupil: Pupil, turnDeg: number): Pupil {
  const c = Math.cos((turnDeg * Math.PI) / 180);
  const s = Math.sin((turnDeg * Math.PI) / 180);
  const point = ({ x = 0, y = 0 }: { x?: number; y?: number }) => ({ x: c * x - s * y, y: s * x + c * y });
  const more = <T extends { angleDeg?: number }>(part: T) => ({
    ...part,
    angleDeg: (part.angleDeg ?? 0) + turnDeg,
  });
  return {
    obstructionRatio: pupil.obstructionRatio,
    obstructionCenter: point(pupil.obstructionCenter!),
    vanes: more(pupil.vanes!),
    clip: more(pupil.clip!),
    footprint: { ...more(pupil.footprint!), ...point(pupil.footprint!) },
    illumination: more(pupil.illumination!),
  };
}
