/** Diameters made up from a straight line, then frames of a simulated focus run, from file to answer. */
import { createImage, exposeFrame, prepareStar, randomStream } from '@holdfast/psf';
import {
  buildScene,
  type CalibrationResult,
  calibrateFocuser,
  type FocuserCalibration,
  type FocuserOptions,
  type FocuserPoint,
  frameFacts,
  frameToFits,
  measureFrame,
  readFrameFile,
  rigCamera,
} from '@holdfast/sim';
import { focuserPoint } from '@holdfast/sim/internal';
import { describe, expect, test } from 'vitest';
import { expectWithin, expectWithinSigmas } from '../../expect-within.ts';
import { smallRig } from '../small-rig.ts';

const line = { pxPerStep: 0.25, zero: 1040 };
const sigma = 0.12;
const optics: FocuserOptions = { pixelSizeUm: 3.75, fNumber: 4 };
/** dz = (D / 2) sqrt(4 F^2 - 1) at F/4: 0.25 px of 3.75 um are 3.7205 um. */
const umPerStep = ((0.25 * 3.75) / 2) * Math.sqrt(63);

function diameters(positions: readonly number[], trial?: number): FocuserPoint[] {
  const random = randomStream('diameters', trial ?? 0);
  return positions.map((position) => ({
    position,
    outerDiameterPx: {
      value:
        Math.abs(line.pxPerStep * (position - line.zero)) +
        (trial === undefined ? 0 : sigma * random.normal()),
      standardError: sigma,
    },
  }));
}

function solved(result: CalibrationResult): FocuserCalibration {
  if (!result.ok) throw new Error(result.message);
  return result;
}

describe('diameters on a line', () => {
  test.each([
    ['both sides', [920, 960, 1000, 1080, 1120, 1160]],
    ['one side, growing', [1080, 1100, 1130, 1180]],
    ['one side, shrinking', [900, 930, 960, 1000]],
    ['in any order, some positions twice', [1160, 920, 1080, 960, 920, 1160]],
  ])('%s: slope and zero to rounding', (_, positions) => {
    const found = solved(calibrateFocuser(diameters(positions), optics));
    expectWithin(found.pxPerStep.value, 0.25, 1e-9, 'rounding');
    expectWithin(found.zeroFocusPosition.value, 1040, 1e-6, 'rounding');
    expectWithin(found.umPerStep!.value, umPerStep, 1e-8, 'rounding');
    found.points.forEach(({ signedDiameterPx, residualPx }, k) => {
      expectWithin(signedDiameterPx, 0.25 * (positions[k]! - 1040), 1e-9, 'the order given');
      expectWithin(residualPx, 0, 1e-8, 'rounding');
    });
    expect(found.degreesOfFreedom).toBe(positions.length - 2);
    expect(found.alternatives).toEqual([]);
  });

  test('the stated errors are those of trials', () => {
    const trials = 300;
    const [slopes, zeros]: [number[], number[]] = [[], []];
    for (let trial = 1; trial <= trials; trial++) {
      const points = diameters([930, 960, 990, 1090, 1120, 1150], trial);
      const { pxPerStep, zeroFocusPosition } = solved(calibrateFocuser(points, optics));
      slopes.push((pxPerStep.value - 0.25) / pxPerStep.standardError);
      zeros.push((zeroFocusPosition.value - 1040) / zeroFocusPosition.standardError);
    }
    for (const values of [slopes, zeros]) {
      const rms = Math.sqrt(values.reduce((sum, v) => sum + v * v, 0) / trials);
      // four degrees of freedom: errors are enlarged by the scatter in two of five trials, on average by 1.15
      expectWithin(rms, 0.87, 0.12, 'rms over stated error: 1 / 1.15, and 1 / sqrt(600)');
      expectWithinSigmas(values.reduce((sum, v) => sum + v, 0) / trials, 0, 1 / Math.sqrt(trials), 4);
    }
  });

  test('points that scatter more than they say enlarge the errors', () => {
    const points = diameters([930, 960, 990, 1090, 1120, 1150], 7).map(({ position, outerDiameterPx }) => ({
      position,
      outerDiameterPx: { ...outerDiameterPx, standardError: sigma / 10 },
    }));
    const honest = solved(calibrateFocuser(diameters([930, 960, 990, 1090, 1120, 1150], 7), optics));
    const proud = solved(calibrateFocuser(points, optics));
    expectWithin(
      proud.pxPerStep.standardError,
      (honest.pxPerStep.standardError / Math.max(1, Math.sqrt(honest.chiSquare / 4))) *
        Math.sqrt(honest.chiSquare / 4),
      1e-9,
      'the same scatter',
    );
  });

  test('two frames allow two answers; what is roughly known chooses', () => {
    const points = diameters([1000, 1100]);
    const open = solved(calibrateFocuser(points, optics));
    expect(open.alternatives).toHaveLength(1);
    const both = [open.pxPerStep.value, open.alternatives[0]!.pxPerStep.value].sort((a, b) => a - b);
    // 10 px before and 15 px beyond over 100 steps, or 5 px more
    expectWithin(both[0]!, 0.05, 1e-9, 'rounding');
    expectWithin(both[1]!, 0.25, 1e-9, 'rounding');
    for (const [roughUmPerStep, expected] of [
      [4.5, 0.25],
      [0.8, 0.05],
    ] as const) {
      const found = solved(calibrateFocuser(points, { ...optics, roughUmPerStep }));
      expectWithin(found.pxPerStep.value, expected, 1e-9, 'rounding');
      expect(found.alternatives).toHaveLength(1);
    }
  });

  test('steps that are known give the F-number; the sign follows what is outward', () => {
    const points = diameters([920, 960, 1000, 1080, 1120, 1160]);
    const found = solved(calibrateFocuser(points, { pixelSizeUm: 3.75, knownUmPerStep: umPerStep }));
    expectWithin(found.fNumber!.value, 4, 1e-8, 'rounding');
    expectWithin(
      found.fNumber!.standardError / 4,
      (found.pxPerStep.standardError / 0.25) * (63 / 64),
      1e-8,
      'F dF = (1 / 4 t^2) dt / t and 1 / t^2 = 4 F^2 - 1',
    );
    expect(found.umPerStep).toBeUndefined();
    expectWithin(
      solved(calibrateFocuser(points, { ...optics, higherIsOutward: false })).umPerStep!.value,
      -umPerStep,
      1e-8,
      'rounding',
    );
  });

  test('obstruction: the weighted mean, its error no less than the scatter', () => {
    const ratios = [0.3, 0.34, 0.35].map((value, k) => ({ value, standardError: k === 0 ? 0.02 : 0.01 }));
    const points = diameters([1100, 1120, 1140]).map((point, k) => ({
      ...point,
      obstructionRatio: ratios[k]!,
    }));
    const { obstructionRatio } = solved(calibrateFocuser(points, optics));
    // weights 1, 4, 4 of 2500: mean (0.3 + 1.36 + 1.4) / 9 = 0.34; chi-square 4 + 0 + 1 over 2
    expectWithin(obstructionRatio!.value, 0.34, 1e-9, 'rounding');
    expectWithin(obstructionRatio!.standardError, Math.sqrt(2.5 / 22500), 1e-9, 'rounding');
  });

  test('too little to go by', () => {
    expect(calibrateFocuser(diameters([1000, 1000]), optics)).toMatchObject({
      ok: false,
      reason: 'too-few-points',
      message: 'rings at two positions or more are needed, there are 1',
    });
    const same = diameters([1000, 1000, 1000]).map((point, k) => ({ ...point, position: 1000 + k }));
    expect(
      calibrateFocuser(
        same.slice(0, 2).map((point) => ({ ...point, outerDiameterPx: { value: 0.2, standardError: 0.5 } })),
        optics,
      ),
    ).toMatchObject({
      ok: false,
      reason: 'no-slope',
    });
  });

  describe('up, then down again', () => {
    const way = [860, 920, 980, 1040, 1100, 1160, 1220, 1160, 1100, 1040, 980, 920, 860];
    /** The camera lags by 22.5 steps in the direction of the move. */
    const runs = (backlash: number, trial: number): FocuserPoint[] => {
      const camera = way.map((position, k) => position + ((k < 7 ? -1 : 1) * backlash) / 2);
      const drawn = diameters(camera, trial);
      return drawn
        .map((point, k) => ({ ...point, position: way[k]! }))
        .filter(({ outerDiameterPx }) => outerDiameterPx.value > 3);
    };

    test('45 steps of backlash are found within their error, and so is the growth of the ring', () => {
      const pulls: number[] = [];
      for (let trial = 1; trial <= 40; trial++) {
        const found = solved(calibrateFocuser(runs(45, trial), optics));
        expectWithinSigmas(found.pxPerStep.value, 0.25, found.pxPerStep.standardError, 4.5);
        expectWithinSigmas(found.zeroFocusPosition.value, 1040, found.zeroFocusPosition.standardError, 4.5);
        expect(found.degreesOfFreedom).toBe(runs(45, trial).length - 3);
        pulls.push((found.backlash!.value - 45) / found.backlash!.standardError);
        expect(found.backlash!.standardError).toBeLessThan(1);
      }
      const rms = Math.sqrt(pulls.reduce((sum, pull) => sum + pull * pull, 0) / pulls.length);
      // 40 pulls: 1 / sqrt(80) = 0.11; the error is enlarged by scatter in some
      expectWithin(rms, 0.9, 0.4, 'rms over stated error');
    });

    test('without backlash none is found but by chance', () => {
      let found = 0;
      for (let trial = 1; trial <= 40; trial++)
        if (solved(calibrateFocuser(runs(0, trial), optics)).backlash !== undefined) found++;
      // 0.3 % by 3 sigma, some more since it is looked for over a range
      expect(found).toBeLessThanOrEqual(2);
    });

    test('a focuser that slips is refused, with what to measure next', () => {
      const slipped = diameters([900, 940, 980, 1090, 1130, 1170]).map((point, k) => ({
        ...point,
        position: point.position + (k % 2 === 0 ? 0 : 45),
      }));
      const refused = calibrateFocuser(slipped, optics);
      expect(refused).toMatchObject({ ok: false, reason: 'contradicted' });
      expect(refused.ok || refused.message).toContain('approached from the same side');
    });
  });

  test.each([
    [{ pixelSizeUm: 0 }, 'pixelSizeUm must be a finite number > 0, got 0'],
    [{ pixelSizeUm: 3, fNumber: 0.1 }, 'fNumber must be > 0.5, got 0.1'],
    [{ pixelSizeUm: 3, knownUmPerStep: -1 }, 'knownUmPerStep must be a finite number > 0, got -1'],
    [{ pixelSizeUm: 3, roughUmPerStep: 2 }, 'roughUmPerStep needs fNumber'],
  ])('a bad call throws: %j', (options, message) => {
    expect(() => calibrateFocuser(diameters([1, 2]), options)).toThrow(message);
  });
});

test('a simulated focus run, from files to µm per step', async () => {
  const rig = smallRig();
  const truth = { umPerStep: 3.1, zero: 5020 };
  const points: FocuserPoint[] = [];
  const { telescope, guideCamera } = rig;
  const fNumber = telescope.focalLengthMm / telescope.apertureMm;
  for (const [n, position] of [4920, 4945, 4970, 5020, 5060, 5085, 5110].entries()) {
    const focusShiftUm = truth.umPerStep * (position - truth.zero);
    const scene = buildScene(rig, { focusShiftUm, fluxE: 40_000 });
    const size = { width: scene.width + 40, height: scene.height + 34 };
    const light = createImage(size.width, size.height);
    // the exact cone, of which the scene's ring is the paraxial one
    const outerDiameterPx =
      (2 * Math.abs(focusShiftUm)) / Math.sqrt(4 * fNumber * fNumber - 1) / guideCamera.pixelSizeUm;
    const shape = {
      kind: 'annulus',
      outerDiameterPx,
      obstructionRatio: telescope.obstructionRatio,
      blurFwhmPx: scene.blurFwhmPx,
    } as const;
    prepareStar(shape, size).renderInto(light.data, size.width / 2 - 3.3, size.height / 2 + 1.2, scene.fluxE);
    for (let k = 0; k < light.data.length; k++) light.data[k] += scene.backgroundE;
    const camera = { ...scene.camera, exposureS: guideCamera.exposureS };
    const taken = exposeFrame(light, camera, randomStream('focus run', n));
    const bytes = frameToFits(taken, camera, { focuserPosition: position });
    const frame = await readFrameFile(bytes);
    if (!frame.ok) throw new Error(frame.message);
    const { measure, notes } = rigCamera(rig, frame);
    expect(notes).toEqual([]);
    const [star] = measureFrame(frame.image, measure);
    const point = focuserPoint(frameFacts(frame.header).focuserPosition!, star!);
    if (point === undefined) expect(position).toBe(5020);
    else points.push(point);
  }
  expect(points).toHaveLength(6);
  const found = solved(
    calibrateFocuser(points, {
      pixelSizeUm: guideCamera.pixelSizeUm,
      fNumber,
      knownUmPerStep: truth.umPerStep,
    }),
  );
  expectWithinSigmas(found.umPerStep!.value, 3.1, found.umPerStep!.standardError, 4);
  expect(found.umPerStep!.standardError).toBeLessThan(0.05);
  expectWithinSigmas(found.zeroFocusPosition.value, 5020, found.zeroFocusPosition.standardError, 4);
  expect(found.zeroFocusPosition.standardError).toBeLessThan(1);
  expectWithinSigmas(found.fNumber!.value, fNumber, found.fNumber!.standardError, 4);
  expectWithinSigmas(
    found.obstructionRatio!.value,
    telescope.obstructionRatio,
    found.obstructionRatio!.standardError,
    4,
  );
  expect(found.obstructionRatio!.standardError).toBeLessThan(0.03);
  expect(found.alternatives).toEqual([]);
});
