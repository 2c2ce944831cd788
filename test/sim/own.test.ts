/** An estimator and a star of a user's own beside ours: in trials, limits and sweeps, and on workers. */
import { prepareCenterOfMass, prepareGaussianFit } from '@holdfast/centroid';
import { estimatorPromises } from '@holdfast/centroid/contract';
import {
  type AnyEstimator,
  buildScene,
  compareEstimators,
  focusLimit,
  measureError,
  type OwnEstimator,
  parseRig,
  type SweepCell,
  type SweepRow,
  sweep,
  sweepFromCsv,
  sweepToCsv,
} from '@holdfast/sim';
import { runCell, withCode, withoutCode } from '@holdfast/sim/internal';
import { describe, expect, test } from 'vitest';
import mine from './own/mine.ts';
import disc from './own/star.ts';
import { smallRig } from './small-rig.ts';

const rig = smallRig();
const scene = buildScene(rig, { focusShiftUm: 60, snr: 40 });

describe('an estimator of your own', () => {
  test('with the code of one of ours gives its error to the bit, with bound and figures', () => {
    const copy: OwnEstimator = {
      name: 'copy',
      prepare: (size, options) => prepareGaussianFit(size, { ...options, fitBackground: false }),
    };
    const [own, ours] = compareEstimators(scene, {
      estimators: [copy, 'gaussianFit'],
      seed: 1,
      trials: 128,
    });
    expect({ ...own, estimator: 'gaussianFit' }).toEqual(ours);
    expect(own.estimator).toBe('copy');
    expect(own.noiseEquivalentPx?.value).toBeGreaterThan(own.boundPx);
  });

  test('is set like ours: window and search', () => {
    const plain: OwnEstimator = { name: 'plain', prepare: prepareCenterOfMass };
    const set = { windowPx: 15, searchPx: 4 };
    const own = measureError(scene, { estimator: { estimator: plain, ...set }, seed: 1, trials: 64 });
    const ours = measureError(scene, {
      estimator: { estimator: 'centerOfMass', ...set },
      seed: 1,
      trials: 64,
    });
    expect({ ...own, estimator: 'centerOfMass' }).toEqual(ours);
  });

  test('keeps the promises of every estimator', () => {
    for (const { check } of estimatorPromises(mine, { accuracyPx: 0.02 })) expect(check).not.toThrow();
  });

  test('that breaks a promise is told which', () => {
    const middle: OwnEstimator = {
      name: 'middle',
      prepare:
        ({ width, height }) =>
        () => ({ ok: true, x: width / 2, y: height / 2, flux: 1, iterations: 1 }),
    };
    const broken = estimatorPromises(middle, { accuracyPx: 0.01 }).filter(({ check }) => {
      try {
        check();
        return false;
      } catch {
        return true;
      }
    });
    expect(broken.map(({ promise }) => promise)).toEqual(
      expect.arrayContaining([
        'a noiseless symmetric star is met at any place in a pixel, for any width',
        'a star moved by whole pixels moves the answer by as many',
        'without light there is no position',
        'pixels of another size are refused',
      ]),
    );
    // What always answers alike has no scatter, but it does not follow the star.
    const error = measureError(scene, { estimator: middle, seed: 1, trials: 64 });
    expect(error.followsStar).toBe(false);
    expect(error.noiseEquivalentPx).toBeUndefined();
  });

  test('has a focus limit', async () => {
    const options = { seed: 1, trials: 128, setting: { snr: 15 } };
    const own = await focusLimit(rig, {
      ...options,
      estimator: { name: 'copy', prepare: prepareCenterOfMass } as OwnEstimator,
    });
    const ours = await focusLimit(rig, { ...options, estimator: 'centerOfMass' });
    expect(own.estimator).toBe('copy');
    expect(own.limitUm).toEqual(ours.limitUm);
  });

  test.each([
    [{ name: 'gaussianFit', prepare: prepareCenterOfMass }, /must not be that of one of ours/],
    [{ name: 'no name', prepare: prepareCenterOfMass }, /estimator.name must begin with a letter/],
    [{ name: 'mine', prepare: 3 }, /estimator.prepare of 'mine' must be a function/],
    [{ name: 'mine', prepare: () => 3 }, /must return a function, got 3/],
    [{ name: 'mine', prepare: prepareCenterOfMass, url: 'x' }, /estimator.url is not known/],
    [{ name: 'mine', prepare: () => () => ({ ok: true, x: Number.NaN, y: 1, flux: 1 }) }, /got x NaN/],
    [{ name: 'mine', prepare: () => () => undefined }, /must give \{ ok: true/],
    [{ nam: 'mine', prepare: prepareCenterOfMass }, /estimator.nam is not known \(did you mean name\?\)/],
    [{ nam: 'mine' }, /estimator.nam is not known/],
  ])('%o is refused', (estimator, message) => {
    expect(() =>
      measureError(scene, { estimator: estimator as unknown as OwnEstimator, seed: 1, trials: 64 }),
    ).toThrow(message);
  });
});

describe('a star of your own', () => {
  test('as a shape of psf is drawn as it is, with its size measured', () => {
    const own = buildScene(rig, { focusShiftUm: 0, snr: 40, ownStar: { kind: 'gaussian', fwhmPx: 4 } });
    expect(own.blurFwhmPx).toBeCloseTo(4, 0);
    expect(own.outerDiameterPx).toBe(0);
    expect(own.snr).toBeCloseTo(40, 6);
    const { noiseEquivalentPx, boundPx } = measureError(own, {
      estimator: 'templateFit',
      seed: 1,
      trials: 256,
    });
    // The fit of the exact star reaches the least possible error; 256 frames know it to 5 %.
    expect((noiseEquivalentPx?.value ?? 0) / boundPx).toBeGreaterThan(0.9);
    expect((noiseEquivalentPx?.value ?? 0) / boundPx).toBeLessThan(1.15);
  });

  test('two shapes of one name are two stars', () => {
    const shape = (fwhmPx: number) => ({
      name: 'round',
      shapeAt: () => ({ kind: 'gaussian' as const, fwhmPx }),
    });
    const flux = (fwhmPx: number) =>
      measureError(buildScene(rig, { focusShiftUm: 0, snr: 40, ownStar: shape(fwhmPx) }), {
        estimator: 'centerOfMass',
        seed: 1,
        trials: 64,
      }).boundPx;
    expect(flux(5)).toBeGreaterThan(1.2 * flux(3));
  });

  test.each([
    [{ name: 'mine', shapeAt: 3 }, /ownStar.shapeAt of 'mine' must be a function/],
    [{ name: 'mine', shapeAt: () => ({ kind: 'gauss' }) }, /shape.kind must be one of/],
    [{ kind: 'gaussian', fwhmPx: 900 }, /99 % of its light within 512 px/],
    [7, /ownStar must be an object/],
  ])('%o is refused', (ownStar, message) => {
    expect(() => buildScene(rig, { focusShiftUm: 0, ownStar: ownStar as never })).toThrow(message);
  });
});

describe('a sweep with them', () => {
  const plan = {
    axes: { focusShiftUm: [0, 60], snr: [40], estimator: [mine, 'centerOfMass'] as const },
    ownStar: disc,
    seed: 1,
    trials: 64,
  };
  const rowsOf = async (options: object = {}): Promise<SweepRow<string>[]> => {
    const rows: SweepRow<string>[] = [];
    for await (const row of sweep(rig, { ...plan, ...options })) rows.push(row);
    return rows;
  };

  test('names them in its rows, in order, and gives the same through a worker', async () => {
    const here = await rowsOf();
    expect(here.map(({ estimator, ownStar }) => `${estimator} ${ownStar}`)).toEqual([
      'mine disc',
      'centerOfMass disc',
      'mine disc',
      'centerOfMass disc',
    ]);
    const runner = {
      size: 1,
      // What a worker does: plain data arrive, the code is loaded from its modules.
      run: async (cell: SweepCell<AnyEstimator>) =>
        runCell(await withCode(structuredClone(withoutCode(cell)))),
    };
    expect((await rowsOf({ runner })).sort((a, b) => a.cell - b.cell)).toEqual(here);
    expect(sweepFromCsv(sweepToCsv(here as SweepRow[]))).toEqual(here);
  });

  test('goes by their names, wherever their modules lie', async () => {
    const [here] = await rowsOf({ part: { index: 1, of: 2 } });
    const moved = { ...plan.axes, estimator: [{ ...mine, module: 'file:///elsewhere.js' }, 'centerOfMass'] };
    const [there] = await rowsOf({ axes: moved, part: { index: 1, of: 2 } });
    expect(there).toEqual(here);
  });

  test('refuses workers without a module', async () => {
    const { module: _, ...homeless } = mine;
    const runner = { size: 1, run: async (cell: SweepCell<AnyEstimator>) => runCell(withoutCode(cell)) };
    await expect(rowsOf({ axes: { ...plan.axes, estimator: [homeless] }, runner })).rejects.toThrow(
      /estimator 'mine' must name its module/,
    );
  });

  test('parseRig knows no estimator of your own', () => {
    expect(() => parseRig({ ...rig, tracking: { ...rig.tracking, estimator: 'mine' } })).toThrow(/estimator/);
  });
});
