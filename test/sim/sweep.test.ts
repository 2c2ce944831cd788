import { type SweepAxes, type SweepRow, sweep } from '@holdfast/sim';
import { describe, expect, test } from 'vitest';
import { smallRig } from './small-rig.ts';

const rig = smallRig();

async function rowsOf(axes: SweepAxes, options: object = {}): Promise<SweepRow[]> {
  const rows: SweepRow[] = [];
  for await (const row of sweep(rig, { axes, seed: 1, trials: 64, estimators: ['centerOfMass'], ...options }))
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
    expect(same).toEqual(alone);
  });
  test('tells its progress and stops when cancelled', async () => {
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
  ])('%j is refused', async (axes, message) => {
    await expect(rowsOf(axes)).rejects.toThrow(message);
  });
});
