import {
  type SweepAxes,
  type SweepCell,
  type SweepRow,
  sweep,
  sweepFromCsv,
  sweepToCsv,
} from '@holdfast/sim';
import { sweepFromArrow, sweepToArrow } from '@holdfast/sim/arrow';
import { runCell } from '@holdfast/sim/internal';
import { describe, expect, test } from 'vitest';
import { smallRig } from './small-rig.ts';

const rig = smallRig();

async function rowsOf(axes: SweepAxes, options: object = {}): Promise<SweepRow[]> {
  const rows: SweepRow[] = [];
  for await (const row of sweep(rig, {
    axes: { estimator: ['centerOfMass'], ...axes },
    seed: 1,
    trials: 64,
    ...options,
  }))
    rows.push(row);
  return rows;
}

describe('a sweep', () => {
  test('runs every combination, last axis fastest', async () => {
    const rows = await rowsOf({ focusShiftUm: [0, 100], obstructionRatio: [0.2, 0.4], snr: [20, 80] });
    expect(rows.map((r) => [r.focusShiftUm, r.obstructionRatio, Math.round(r.snr)])).toEqual([
      [0, 0.2, 20],
      [0, 0.2, 80],
      [0, 0.4, 20],
      [0, 0.4, 80],
      [100, 0.2, 20],
      [100, 0.2, 80],
      [100, 0.4, 20],
      [100, 0.4, 80],
    ]);
  });
  test('a cell gives the same row in any grid', async () => {
    const [, , alone] = await rowsOf({ focusShiftUm: [50, 100, 150] });
    const [same] = await rowsOf({ focusShiftUm: [150] });
    expect({ ...same, cell: 2, plan: alone.plan }).toEqual(alone);
    expect(same.plan).not.toBe(alone.plan);
  });
  test('parts are the whole, none twice, whatever their number', async () => {
    const axes = { focusShiftUm: [0, 20, 40, 60, 80], snr: [30] };
    const whole = await rowsOf(axes);
    for (const of of [1, 2, 3, 7]) {
      const parts: SweepRow[] = [];
      for (let index = 1; index <= of; index++) parts.push(...(await rowsOf(axes, { part: { index, of } })));
      expect(parts.sort((a, b) => a.cell - b.cell)).toEqual(whole);
    }
  });
  test('cells that are done already are left out', async () => {
    const rows = await rowsOf({ focusShiftUm: [0, 20, 40] }, { done: new Set([0, 2]) });
    expect(rows.map(({ cell }) => cell)).toEqual([1]);
  });
  test('estimator, threshold and window vary on the same frames of a cell', async () => {
    const rows = await rowsOf({
      focusShiftUm: [50],
      estimator: ['centerOfMass', 'thresholdedCenterOfMass'],
      thresholdSigma: [1, 3],
      windowPx: [15, 21],
    });
    expect(
      rows.map(({ estimator, thresholdSigma, windowPx }) => [estimator, thresholdSigma, windowPx]),
    ).toEqual([
      ['centerOfMass', undefined, 15],
      ['centerOfMass', undefined, 21],
      ['thresholdedCenterOfMass', 1, 15],
      ['thresholdedCenterOfMass', 1, 21],
      ['thresholdedCenterOfMass', 3, 15],
      ['thresholdedCenterOfMass', 3, 21],
    ]);
    expect(new Set(rows.map(({ cell }) => cell)).size).toBe(1);
  });
  test('a runner runs several cells at a time and changes no row', async () => {
    const axes = { focusShiftUm: [0, 20, 40, 60, 80] };
    let most = 0;
    let running = 0;
    const runner = {
      size: 3,
      async run(cell: SweepCell) {
        most = Math.max(most, ++running);
        await new Promise((resolve) => setTimeout(resolve, cell.cell % 2 ? 1 : 20));
        running--;
        return runCell(cell);
      },
    };
    const rows = await rowsOf(axes, { runner });
    expect(most).toBeGreaterThan(1);
    expect(rows.sort((a, b) => a.cell - b.cell)).toEqual(await rowsOf(axes));
  });
  test('a failing runner ends the sweep with its error', async () => {
    const runner = { size: 2, run: async () => Promise.reject(new Error('worker died')) };
    await expect(rowsOf({ focusShiftUm: [0, 20, 40] }, { runner })).rejects.toThrow('worker died');
  });
  test('tells its progress and stops when canceled', async () => {
    const seen: number[] = [];
    const control = new AbortController();
    const run = rowsOf(
      { focusShiftUm: [0, 50, 100] },
      {
        signal: control.signal,
        onProgress: ({ done, total }: { done: number; total: number }) => {
          seen.push(done / total);
          if (done === 2) control.abort(new Error('enough'));
        },
      },
    );
    await expect(run).rejects.toThrow('enough');
    expect(seen).toEqual([1 / 3, 2 / 3]);
  });
  test.each([
    [{ focusShiftUm: [] }, /axes.focusShiftUm must hold at least one value/],
    [{ focusShiftUm: [0, Number.NaN] }, /axes.focusShiftUm\[1\] must be a finite number, got NaN/],
    [{ focusShiftUm: [0], snr: [1], magnitude: [1] }, /snr or magnitude, got both/],
    [{ focusShiftUm: [5, 5] }, /axes.focusShiftUm\[1\] must differ from the others, got 5/],
    [{ focusShift: [5] }, /axes.focusShift must be one of focusShiftUm, /],
    [{ estimator: ['best'] }, /axes.estimator\[0\] must be your own or one of centerOfMass, .*, got "best"/],
    [
      {
        focusShiftUm: Array.from({ length: 2000 }, (_, i) => i),
        snr: Array.from({ length: 2000 }, (_, i) => i + 1),
      },
      /at most 1000000 cells, got 4000000/,
    ],
  ])('%j is refused', async (axes, message) => {
    await expect(rowsOf(axes as SweepAxes)).rejects.toThrow(message);
  });
});

test('a name that looks like a formula is no formula in the CSV, and comes back as it was', async () => {
  for (const name of ['=1+1', "'=1", '@SUM(A1)', 'plain', '+', '-2']) {
    const rows = (await rowsOf({ focusShiftUm: [0] })).map((row) => ({ ...row, rig: name }));
    const text = sweepToCsv(rows);
    expect(text).not.toMatch(/(^|,)"?[=+@]/m);
    expect(sweepFromCsv(text)).toEqual(rows);
  }
});

test('CSV and Arrow give back every row: of a star always lost, of one seldom found, of a bright one', async () => {
  const rows = await rowsOf({ snr: [0.01, 10, 60] });
  const found = rows.map(({ errorByPhasePx }) => errorByPhasePx?.map((error) => error !== null));
  expect(found[0]).toBeUndefined();
  expect(new Set(found[1])).toEqual(new Set([true, false]));
  expect(new Set(found[2])).toEqual(new Set([true]));
  expect(sweepFromCsv(sweepToCsv(rows))).toEqual(rows);
  expect(sweepFromArrow(sweepToArrow(rows))).toEqual(rows);
});

test.each([
  [0, 2],
  [3, 2],
  [1.5, 2],
])('part %d/%d does not exist', async (index, of) => {
  await expect(rowsOf({ focusShiftUm: [0] }, { part: { index, of } })).rejects.toThrow(/part must be i\/n/);
});
