/**
 * How near does each estimator come to the least possible error, for rings of all sizes, faint and bright?
 */
import {
  type Compared,
  type ComparedCell,
  comparedNames,
  compareEstimators,
  scenery,
} from '../reports/estimator-comparison.ts';
import { goalText, judge } from '../reports/estimator-goal.ts';
import { textTable } from '../reports/text-table.ts';
import { command } from './command-line/command.ts';
import { number } from './command-line/option.ts';
import { figureFile, seed } from './command-line/shared-options.ts';
import { writeFigure } from './command-line/write-figure.ts';

export const estimators = command({
  name: 'estimators',
  question:
    'How close does each method come to the least possible error, for rings of all sizes, faint and bright?',
  about: [
    `Draws frames of out-of-focus stars (outer diameter 0 to 40 px, obstruction ratio ${scenery.obstructionRatio}, blur of FWHM ` +
      `${scenery.blurFwhmPx} px, ${scenery.backgroundE} electrons of background per pixel, read noise 1.5 electrons). ` +
      'The SNR is 5 to 500. Each frame is measured by every method, at its best setting for that star. ' +
      'The rms distance from the true position is compared with the Cramer-Rao bound, the least possible error.',
  ],
  options: {
    frames: number('N', 'frames per cell, 16 to 1000000', {
      isWhole: true,
      low: 16,
      high: 1_000_000,
      default: 256,
    }),
    seed,
    figure: figureFile("draw the ratio of error and bound over the ring's diameter"),
  },
  async run({ frames, seed, figure }, { onProgress }) {
    const cells = compareEstimators({ frames, seed, ...(onProgress ? { onProgress } : {}) });
    if (figure !== undefined)
      await writeFigure(figure, async (options) =>
        (await import('../figures/estimator-figure.ts')).estimatorFigure(cells, options),
      );
    return {
      data: { scenery, frames, seed, cells, goal: cells.map(judge) },
      text: () => [...tableOf(cells), '', ...goalText(cells)],
    };
  },
});

function tableOf(cells: readonly ComparedCell[]): string[] {
  const names = Object.entries(comparedNames);
  return [
    'Rms error over the least possible; in brackets the share of frames without a position.',
    '',
    ...textTable([
      ['ring', 'SNR', 'flux', 'least', ...names.map(([, label]) => label)],
      ['px', '', 'e', 'px', ...names.map(() => '')],
      ...cells.map((cell) => [
        String(cell.outerDiameterPx),
        String(cell.snr),
        cell.fluxE.toFixed(0),
        cell.boundPx.toFixed(4),
        ...names.map(([name]) => ratioText(cell.estimators.find(({ estimator }) => estimator === name))),
      ]),
    ]),
  ];
}

function ratioText(compared: Compared | undefined): string {
  if (compared?.boundRatio === undefined) return 'none';
  const { boundRatio, lostFraction } = compared;
  const lost = lostFraction >= 0.005 ? ` (${(100 * lostFraction).toFixed(0)} %)` : '';
  return `${boundRatio.toFixed(2)}${lost}`;
}
