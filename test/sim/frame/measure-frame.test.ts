import { createImage, type Image, prepareStar, randomStream, type StarShape } from '@holdfast/psf';
import {
  estimatorNames,
  type MeasuredStar,
  type MeasureFrameOptions,
  measureFrame,
  readFits,
} from '@holdfast/sim';
import { describe, expect, test } from 'vitest';
import { expectWithin, expectWithinSigmas } from '../../expect-within.ts';
import { readOpenData } from '../../open-data.ts';

interface Star {
  readonly shape: StarShape;
  readonly x: number;
  readonly y: number;
  readonly flux: number;
}

const ringShape = { kind: 'annulus', outerDiameterPx: 22, obstructionRatio: 0.4, blurFwhmPx: 3 } as const;
const pointShape = { kind: 'gaussian', fwhmPx: 3.2 } as const;

/** Expected electrons of a frame with a sky of 40 per pixel. */
function scene(width: number, height: number, stars: readonly Star[], skyE = 40): Image {
  const image = createImage(width, height);
  const one = createImage(width, height);
  for (const { shape, x, y, flux } of stars) {
    prepareStar(shape, { width, height }).renderInto(one, x, y, flux);
    for (let k = 0; k < one.data.length; k++) image.data[k] += one.data[k]!;
  }
  for (let k = 0; k < image.data.length; k++) image.data[k] += skyE;
  return image;
}

/** A frame in the camera's units: whole numbers after gain and offset. */
function frame(
  expected: Image,
  gainEPerAdu: number,
  readNoiseE: number,
  ...labels: (string | number)[]
): Image {
  const photon = randomStream('measure frame', 'photon', ...labels);
  const read = randomStream('measure frame', 'read', ...labels);
  const out = createImage(expected.shape[1]!, expected.shape[0]!);
  for (let k = 0; k < out.data.length; k++) {
    const electrons = photon.poisson(Math.max(0, expected.data[k]!)) + readNoiseE * read.normal();
    out.data[k] = Math.round(electrons / gainEPerAdu);
  }
  return out;
}

const options: MeasureFrameOptions = { gainEPerAdu: 0.5, readNoiseE: 4, fNumber: 5, pixelSizeUm: 4 };

const field: readonly Star[] = [
  { shape: ringShape, x: 41.3, y: 66.8, flux: 60_000 },
  { shape: pointShape, x: 120.6, y: 30.2, flux: 20_000 },
  { shape: pointShape, x: 95.1, y: 98.4, flux: 9_000 },
];

describe('a frame with a ring and two stars in focus', () => {
  const image = frame(scene(150, 130, field), 0.5, 4, 'field');
  // no telescope draws these on one frame: sizes of all kinds are asked for
  const stars = measureFrame(image, { ...options, oneSize: false });

  test('all are found, brightest first, and nothing else', () => {
    expect(stars.map((star) => Math.round(star.x / 10))).toEqual([4, 12, 10]);
  });

  test('every position holds its stated error', () => {
    for (const [k, { x, y }] of field.entries()) {
      const { positions } = stars[k]!;
      expect(Object.keys(positions).sort()).toEqual([...estimatorNames].sort());
      for (const [name, found] of Object.entries(positions)) {
        if (!found.ok) throw new Error(`${name}: ${found.reason}`);
        expectWithinSigmas(found.x, x, found.sigmaX!, 4);
        expectWithinSigmas(found.y, y, found.sigmaY!, 4);
        expect(found.sigmaX!).toBeLessThan(0.2);
      }
    }
  });

  test('flux and sky in electrons, with their errors', () => {
    for (const [k, { flux }] of field.entries()) {
      const { light, backgroundE, noiseE, snr } = stars[k]!;
      // the window holds all but a few thousandths of the wings
      expectWithin(
        light!.fluxE.value,
        flux,
        4 * light!.fluxE.standardError + 0.005 * flux,
        'noise and wings',
      );
      expectWithinSigmas(backgroundE.value, 40, backgroundE.standardError, 4);
      // sqrt(40 + 16), and rounding to half an electron: 0.25 / 12
      expectWithinSigmas(noiseE.value, Math.sqrt(56.02), noiseE.standardError, 4);
      expectWithin(snr, light!.fluxE.value / light!.fluxE.standardError, 1e-9, 'its definition');
    }
  });

  test('the ring, its size and the focus shift it implies; stars in focus have none', () => {
    const { ring, light, crowded, unevenShiftPx } = stars[0]!;
    if (!ring.ok) throw new Error(ring.reason);
    expectWithinSigmas(ring.outerDiameterPx.value, 22, ring.outerDiameterPx.standardError, 4);
    expectWithinSigmas(ring.obstructionRatio.value, 0.4, ring.obstructionRatio.standardError, 4);
    expectWithinSigmas(ring.x.value, 41.3, ring.x.standardError, 4);
    expectWithin(ring.outerCenter.x, 41.3, 0.15, 'an even ring: edge and light have one center');
    expectWithin(ring.outerCenter.y, 66.8, 0.15, 'an even ring: edge and light have one center');
    expectWithinSigmas(ring.y.value, 66.8, ring.y.standardError, 4);
    // 22 px of 4 um at F/5 by the exact cone: 88 sqrt(99) / 2
    const shift = ring.absFocusShiftUm!;
    expectWithinSigmas(shift.value, 437.79, shift.standardError, 4);
    // half of the light of an even ring lies within D sqrt((1 + 0.16) / 2); the blur spreads both edges
    expectWithin(light!.halfFluxDiameterPx.value, 22 * Math.sqrt(0.58), 0.5, 'blur and noise');
    expect(crowded).toBe(false);
    expectWithin(unevenShiftPx.x, 0, 0.05, 'an even ring');
    expect(stars[0]!.likeness?.kind).toBe('annulus');
    expect(stars[0]!.absFocusShiftAtMostUm).toBeUndefined();
    for (const star of stars.slice(1)) {
      expect(star.ring).toEqual({ ok: false, reason: 'no-ring' });
      expect(star.likeness?.kind).toBe('gaussian');
      // a disc as wide as a Gaussian of FWHM 3.2 px: D^2 / 16 = 3.2^2 / 8 ln2; 4 um at F/5, dz = D sqrt(99) /
      // 2
      const atMost = (3.2 * Math.sqrt(2 / Math.LN2) * 4 * Math.sqrt(99)) / 2;
      expectWithin(star.absFocusShiftAtMostUm! / atMost, 1, 0.06, '4 sigma of the fainter one');
      expectWithin(star.light!.halfFluxDiameterPx.value, 3.2, 0.25, '4 sigma of the fainter one');
    }
  });

  test('the fit of its own ring and the center of symmetry are the best of a bright ring', () => {
    const { positions } = stars[0]!;
    const sigma = (found: { ok: boolean; sigmaX?: number }) => found.sigmaX ?? Infinity;
    expect(sigma(positions.templateFit)).toBeLessThan(0.75 * sigma(positions.centerOfMass));
    expect(sigma(positions.pointSymmetryCenter)).toBeLessThan(0.85 * sigma(positions.centerOfMass));
    expectWithin(
      positions.templateFit.ok ? positions.templateFit.reducedChiSquare! : 0,
      1,
      0.2,
      'some 900 pixels',
    );
  });

  test('a part of the frame gives the same star at the same place', () => {
    const region = { left: 5, top: 30, width: 75, height: 77 };
    const [alone, ...others] = measureFrame(image, { ...options, region });
    expect(others).toEqual([]);
    const whole = stars[0]!;
    if (!alone?.ring.ok || !whole.ring.ok) throw new Error('no ring');
    expectWithin(alone.ring.x.value, whole.ring.x.value, 0.002, 'the window follows the search');
    expectWithin(alone.ring.y.value, whole.ring.y.value, 0.002, 'the window follows the search');
    expectWithin(alone.ring.outerCenter.y, whole.ring.outerCenter.y, 0.01, 'the window follows the search');
    for (const name of estimatorNames) {
      const [here, there] = [alone.positions[name], whole.positions[name]];
      if (!here.ok || !there.ok) throw new Error(name);
      expectWithin(here.x, there.x, 0.02, 'the window follows the search');
      expectWithin(here.y, there.y, 0.02, 'the window follows the search');
    }
    expectWithin(alone.found.x, whole.found.x, 0.2, 'the search smooths with its surroundings');
  });

  test('an even, round star is no comet', () => {
    let measured = 0;
    for (const { coma } of stars)
      for (const one of [coma.fromHole, coma.fromMoments]) {
        if (one === undefined) continue;
        expectWithin(one.x.value, 0, 4 * one.x.standardError, '4 sigma');
        expectWithin(one.y.value, 0, 4 * one.y.standardError, '4 sigma');
        measured++;
      }
    expect(measured).toBeGreaterThanOrEqual(stars.length);
    expect(stars[0]!.coma.fromHole!.sagittalComaPx.standardError).toBeLessThan(0.2);
  });

  test('the image is not modified; a strided view gives the same', () => {
    const before = image.data.slice();
    const wide = createImage(300, 130);
    for (let y = 0; y < 130; y++) for (let x = 0; x < 150; x++) wide.set(y, 2 * x, image.get(y, x));
    expect(measureFrame(wide.step(1, 2), { ...options, oneSize: false })).toEqual(stars);
    expect(image.data).toEqual(before);
  });
});

test("the camera's offset moves nothing; given as such, it adds no noise either", () => {
  const plain = frame(scene(70, 80, [{ ...field[0]!, x: 33.2, y: 41.7 }]), 0.5, 4, 'offset');
  const raised = createImage(
    70,
    80,
    plain.data.map((value) => value + 3000),
  );
  const camera = { gainEPerAdu: 0.5, readNoiseE: 4, saturationAdu: 60_000 };
  const known = measureFrame(raised, { ...camera, offsetAdu: 3000 });
  expect(known).toEqual(measureFrame(plain, { ...camera, saturationAdu: 57_000 }));
  const taken = measureFrame(raised, camera);
  const [a, b] = [known[0]!.positions.centerOfMass, taken[0]!.positions.centerOfMass];
  if (!a.ok || !b.ok) throw new Error('no position');
  expectWithin(b.x, a.x, 1e-6, 'the same light');
  expectWithin(b.y, a.y, 1e-6, 'the same light');
  // not given, it is taken for 1500 electrons of sky
  expect(b.sigmaX!).toBeGreaterThan(2 * a.sigmaX!);
});

test('pixels that are not valid or not finite do not matter', () => {
  const image = frame(scene(70, 80, [{ ...field[0]!, x: 33.2, y: 41.7 }]), 1, 4, 'valid');
  const valid = new Uint8Array(70 * 80).fill(1);
  for (const k of [100, 2010, 41 * 70 + 33]) valid[k] = 0;
  const clean = measureFrame(image, { gainEPerAdu: 1, readNoiseE: 4, valid });
  for (const [n, k] of [100, 2010, 41 * 70 + 33].entries()) image.data[k] = [1e6, Number.NaN, -1e6][n]!;
  expect(measureFrame(image, { gainEPerAdu: 1, readNoiseE: 4, valid })).toEqual(clean);
  // No camera gives so much: as good as infinite, and just as useless.
  for (const k of [100, 2010, 41 * 70 + 33]) image.data[k] = -1e231;
  expect(measureFrame(image, { gainEPerAdu: 1, readNoiseE: 4 })).toEqual(clean);
  expect(clean).toHaveLength(1);
});

test('a row of missing pixels through a star is filled by its ring, at the error that this costs, and counted', () => {
  const place = { x: 33.2, y: 41.7 };
  const pulls: number[] = [];
  for (let trial = 0; trial < 12; trial++) {
    const image = frame(scene(70, 80, [{ ...field[0]!, ...place }]), 1, 4, 'missing', trial);
    for (let x = 0; x < 70; x++) image.data[46 * 70 + x] = Number.NaN;
    const [star] = measureFrame(image, { gainEPerAdu: 1, readNoiseE: 4 });
    // the chord of a circle of some 14 px, 4.3 px off its middle
    expectWithin(star!.missingPixels, 28, 5, 'the search lays the window');
    for (const name of ['centerOfMass', 'thresholdedCenterOfMass', 'weightedCenterOfMass'] as const) {
      const found = star!.positions[name];
      if (!found.ok) throw new Error(found.reason);
      expectWithinSigmas(found.y, place.y, found.sigmaY!, 4.5);
      expectWithinSigmas(found.x, place.x, found.sigmaX!, 4.5);
      if (name === 'centerOfMass') pulls.push((found.y - place.y) / found.sigmaY!);
      expect(found.sigmaY!).toBeLessThan(0.15);
    }
  }
  // left out, the row moves the center of mass by some 0.2 px: seven of its errors each time
  expectWithin(pulls.reduce((sum, pull) => sum + pull, 0) / pulls.length, 0, 4 / Math.sqrt(12), '4 sigma');
});

test('a saturated star is said to be: positions refuse, the share of pixels is told', () => {
  const image = frame(scene(70, 80, [{ shape: pointShape, x: 33.2, y: 41.7, flux: 200_000 }]), 1, 4, 'full');
  for (let k = 0; k < image.data.length; k++) image.data[k] = Math.min(10_000, image.data[k]!);
  const [star] = measureFrame(image, { gainEPerAdu: 1, readNoiseE: 4, saturationAdu: 10_000 });
  expect(star!.saturatedFraction).toBeGreaterThan(0.1);
  // in focus: without its core it would pass for a ring
  expect(star!.ring).toEqual({ ok: false, reason: 'saturated' });
  expect(star!.positions.centerOfMass).toEqual({ ok: false, reason: 'saturated' });
  expect(star!.positions.gaussianFit).toEqual({ ok: false, reason: 'saturated' });
});

test('two rings whose light mixes are measured as if alone, and called crowded', () => {
  const pair: readonly Star[] = [
    { shape: ringShape, x: 40.4, y: 45.2, flux: 90_000 },
    { shape: ringShape, x: 66.9, y: 51.8, flux: 60_000 },
  ];
  const stars = measureFrame(frame(scene(110, 96, pair), 1, 4, 'pair'), { gainEPerAdu: 1, readNoiseE: 4 });
  expect(stars).toHaveLength(2);
  for (const [k, { x, y }] of pair.entries()) {
    const { ring, crowded, neighborDistancePx, positions } = stars[k]!;
    if (!ring.ok) throw new Error(ring.reason);
    expectWithinSigmas(ring.outerDiameterPx.value, 22, ring.outerDiameterPx.standardError, 4);
    expectWithinSigmas(ring.x.value, x, ring.x.standardError, 4);
    expectWithinSigmas(ring.y.value, y, ring.y.standardError, 4);
    const found = positions.centerOfMass;
    if (!found.ok) throw new Error(found.reason);
    // what is left of the neighbor is its own noise and a thousandth of its light 27 px away
    expectWithin(found.x, x, 4 * found.sigmaX! + 0.03, 'noise and the rest of the neighbor');
    expectWithin(found.y, y, 4 * found.sigmaY! + 0.03, 'noise and the rest of the neighbor');
    expect(crowded).toBe(true);
    expectWithin(neighborDistancePx!, Math.sqrt(26.5 ** 2 + 6.6 ** 2), 1, 'positions of the search');
  }
});

describe('stars nearer than their own size are fitted together, beside three that are alone', () => {
  const alone = [
    [20.2, 21.4],
    [110.6, 24.1],
    [26.3, 92.7],
  ] as const;
  const small = { kind: 'annulus', outerDiameterPx: 14, obstructionRatio: 0.35, blurFwhmPx: 3 } as const;
  test.each([
    // of one size to a third of it apart; 8 px between stars of 3.2 px; two the search takes for one light
    ['rings, 14 px apart', small, 14, 1],
    ['rings, 9 px apart', small, 9, 0.3],
    ['in focus, 8 px apart', pointShape, 8, 0.5],
    ['in focus, 5 px apart', pointShape, 5, 1],
  ] as const)('%s', (label, shape, apart, ratio) => {
    const pair = [
      { shape, x: 70.3, y: 60.6, flux: 20_000 },
      { shape, x: 70.3 + 0.8 * apart, y: 60.6 - 0.6 * apart, flux: 20_000 * ratio },
    ];
    const others = alone.map(([x, y], k) => ({ shape, x, y, flux: 14_000 + 2000 * k }));
    const stars = measureFrame(frame(scene(130, 112, [...pair, ...others]), 1, 3, label), {
      gainEPerAdu: 1,
      readNoiseE: 3,
    });
    expect(stars).toHaveLength(5);
    const far = (star: MeasuredStar, { x, y }: { x: number; y: number }) =>
      Math.sqrt((star.x - x) ** 2 + (star.y - y) ** 2);
    for (const at of [...pair, ...others]) {
      const star = stars.reduce((a, b) => (far(a, at) <= far(b, at) ? a : b));
      expect(star.crowded).toBe(pair.includes(at));
      for (const name of estimatorNames) {
        const found = star.positions[name];
        if (!found.ok) throw new Error(`${name}: ${found.reason}`);
        // before, these erred by 4 to 75 of their errors
        expectWithin(found.x, at.x, 4.5 * found.sigmaX!, `${name} 4.5 sigma`);
        expectWithin(found.y, at.y, 4.5 * found.sigmaY!, `${name} 4.5 sigma`);
      }
    }
  });
});

test('a trail through the wings of a ring disturbs it; the ring alone is not disturbed', () => {
  const ring: Star = { shape: ringShape, x: 61.3, y: 58.8, flux: 20_000 };
  const [width, height] = [125, 121];
  const measured = (trailE: number): MeasuredStar | undefined => {
    const expected = scene(width, height, [ring]);
    for (let x = 0; x < width; x++)
      for (const dy of [-1, 0, 1]) {
        const y = Math.round(28 + 0.25 * x) + dy;
        expected.set(y, x, expected.get(y, x) + trailE);
      }
    return measureFrame(frame(expected, 0.5, 4, 'trail', trailE), options)[0];
  };
  const [clean, crossed] = [measured(0), measured(40)];
  expect(clean?.disturbed).toBe(false);
  expect(crossed?.disturbed).toBe(true);
  const fit = crossed?.positions.templateFit;
  if (!fit?.ok) throw new Error('no position');
  // What is told by it: here the place is off by more than three of its errors.
  expect(Math.abs(fit.y - ring.y)).toBeGreaterThan(3 * fit.sigmaY!);
});

test('a lone ring is not crowded by a gradient of the background, nor by the wings of its own light', () => {
  const wave = { wavefront: { focusShiftUm: 300 }, fNumber: 5, wavelengthNm: 600, pixelSizeUm: 3.75 };
  const seeing = { fwhmArcsec: 4, apertureMm: 120 };
  const winged: StarShape = { kind: 'diffraction', pupil: { obstructionRatio: 0.35 }, ...wave, seeing };
  for (const shape of [ringShape, winged]) {
    const expected = scene(96, 90, [{ shape, x: 47.3, y: 44.6, flux: 40_000 }]);
    // 1 electron per px: 5 % of the ring's brightness from its edge to the end of the sectors
    for (let k = 0; k < expected.data.length; k++) expected.data[k]! += k % 96;
    const [star] = measureFrame(frame(expected, 1, 4, 'gradient'), { gainEPerAdu: 1, readNoiseE: 4 });
    expect(star?.ring.ok).toBe(true);
    expect(star?.crowded).toBe(false);
  }
});

test('no star: nothing is measured', () => {
  expect(measureFrame(frame(scene(60, 50, []), 1, 4, 'none'), { gainEPerAdu: 1, readNoiseE: 4 })).toEqual([]);
  expect(measureFrame(createImage(9, 7), { gainEPerAdu: 1, readNoiseE: 4 })).toEqual([]);
});

describe('a bad call throws', () => {
  const image = createImage(20, 30);
  test.each([
    [{ gainEPerAdu: 0 }, 'gainEPerAdu must be a finite number > 0, got 0'],
    [{ readNoiseE: -1 }, 'readNoiseE must be a finite number >= 0, got -1'],
    [{ subtractedE: Number.NaN }, 'subtractedE must be a finite number >= 0, got NaN'],
    [{ offsetAdu: Infinity }, 'offsetAdu must be a finite number, got Infinity'],
    [{ saturationAdu: Number.NaN }, 'saturationAdu must be a finite number, got NaN'],
    [{ valid: new Uint8Array(5) }, 'valid must be a Uint8Array of width * height = 600 values, got 5'],
    [{ fNumber: 0.3 }, 'fNumber must be > 0.5, got 0.3'],
    [{ obstructionRatio: 1 }, 'obstructionRatio must be in [0, 0.95), got 1'],
    [{ pixelSizeUm: -3 }, 'pixelSizeUm must be a finite number > 0, got -3'],
    [{ minSnr: 0 }, 'minSnr must be'],
    [{ maxStars: 0 }, 'maxStars must be'],
    [
      { region: { left: 0, top: 0, width: 21, height: 5 } },
      'region must be whole pixels within 20 x 30, got',
    ],
    [
      { region: { left: 0.5, top: 0, width: 2, height: 5 } },
      'region must be whole pixels within 20 x 30, got',
    ],
  ])('%j', (wrong, message) => {
    expect(() => measureFrame(image, { ...options, ...wrong })).toThrow(message);
  });
});

/** Row i of the matrix that moves `n` samples of a band-limited periodic signal by `shift`. */
function moving(n: number, shift: number): Float64Array[] {
  return Array.from({ length: n }, (_, i) =>
    Float64Array.from({ length: n }, (_, j) => {
      const phase = (2 * Math.PI * (i - j - shift)) / n;
      let sum = 1;
      for (let k = 1; k < n / 2; k++) sum += 2 * Math.cos(k * phase);
      return sum / n;
    }),
  );
}

function moved(pixels: Float64Array, n: number, dx: number, dy: number): Float64Array {
  const alongX = moving(n, dx);
  const alongY = moving(n, dy);
  const half = new Float64Array(n * n);
  const out = new Float64Array(n * n);
  for (let y = 0; y < n; y++)
    for (let x = 0; x < n; x++)
      for (let j = 0; j < n; j++) half[y * n + x] += alongX[x]![j]! * pixels[y * n + j]!;
  for (let y = 0; y < n; y++)
    for (let x = 0; x < n; x++)
      for (let j = 0; j < n; j++) out[y * n + x] += alongY[y]![j]! * half[j * n + x]!;
  return out;
}

test('a real ring, moved, dimmed and exposed anew: every estimator finds the shift within its error', () => {
  const file = readFits(readOpenData('donut-real/DECam_00487890.S4.0054.stamp.fits'));
  if (!file.ok) throw new Error(file.message);
  const [full] = measureFrame(file.image, { gainEPerAdu: 3.8, readNoiseE: 7 }) as [MeasuredStar];
  // 200,000 of its ten million electrons: its own noise shrinks to a fiftieth of theirs
  const share = 200_000 / full.light!.fluxE.value;
  const real = file.image.data.map((adu) => (adu * 3.8 - full.backgroundE.value) * share);
  const camera = { gainEPerAdu: 1, readNoiseE: 3 };
  const still = createImage(
    64,
    64,
    real.map((electrons) => electrons + 50),
  );
  const [reference] = measureFrame(still, camera) as [MeasuredStar];
  const copies = 20;
  const names = ['centerOfMass', 'thresholdedCenterOfMass', 'gaussianFit'] as const;
  const pulls: Record<string, number[]> = {};
  const ringErrors: number[] = [];
  for (let copy = 0; copy < copies; copy++) {
    const random = randomStream('moved ring', copy);
    const [dx, dy] = [2 * random.uniform() - 1, 2 * random.uniform() - 1];
    const light = createImage(
      64,
      64,
      moved(real, 64, dx, dy).map((electrons) => electrons + 50),
    );
    const [star] = measureFrame(frame(light, 1, 3, 'moved', copy), camera) as [MeasuredStar];
    for (const name of names) {
      const [here, there] = [star.positions[name], reference.positions[name]];
      if (!here.ok || !there.ok) throw new Error(name);
      pulls[name] ??= [];
      pulls[name].push((here.x - there.x - dx) / here.sigmaX!, (here.y - there.y - dy) / here.sigmaY!);
    }
    if (!star.ring.ok || !reference.ring.ok) throw new Error('no ring');
    ringErrors.push(
      star.ring.x.value - reference.ring.x.value - dx,
      star.ring.y.value - reference.ring.y.value - dy,
    );
  }
  const rmsOf = (values: readonly number[]) =>
    Math.sqrt(values.reduce((sum, v) => sum + v * v, 0) / values.length);
  for (const name of names) {
    const values = pulls[name]!;
    // 40 deviations: the rms scatters by 1 / sqrt(80) = 0.11; a Gaussian's own error is stated for a
    // Gaussian's misfit as noise
    expectWithin(
      rmsOf(values),
      name === 'gaussianFit' ? 0.8 : 1,
      0.35,
      `rms of ${name} over its stated error`,
    );
    expectWithinSigmas(
      values.reduce((sum, v) => sum + v, 0) / values.length,
      0,
      1 / Math.sqrt(values.length),
      4,
    );
  }
  // its own error also counts the uneven light, which the copies share: the shift comes out far better
  expectWithin(rmsOf(ringErrors), 0.045, 0.02, 'photon noise of 200,000 electrons on a ring of 46 px');
});

test('an image of unit flux without noise shows no star: light below an SNR of 3 is none', () => {
  const read = readFits(readOpenData('psf-images/optics_coma1.fits'));
  expect(read.ok && measureFrame(read.image, { gainEPerAdu: 1, readNoiseE: 3 })).toEqual([]);
});
