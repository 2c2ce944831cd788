/**
 * Every way of measuring against the least possible error, over the size of the ring and the brightness of
 * the star.
 */
import { type EstimatorName, estimatorNames, type Rig, type SceneSetting } from '@holdfast/sim';
import { estimatorLabels, significant } from '@holdfast/sim/internal';
import { shown } from '../../../figures/number-words.ts';
import { invalidation, rigName, signalOf } from '../../book.ts';
import type { Cell } from '../../cell.ts';
import { codeOf } from '../../code.ts';
import { shiftOfRing } from '../../compute/derived.ts';
import { type AxisPoint, type ErrorLines, errorLines } from '../../compute/error-lines.ts';
import code from '../../compute/error-lines.ts?raw';
import { controls, rangeControl } from '../../controls.ts';
import { element, paragraph, source } from '../../element.ts';
import { errorChart, trialWords } from '../../figures/error-chart.ts';
import { lineChart } from '../../figures/line-chart.ts';
import { newsOf } from '../../news.ts';
import { formula, math } from '../../tex.ts';

const chapter = 'which-way';

/** Ring diameters of the axis, px, and SNRs. */
const rings = [0, 4, 8, 12, 18, 24, 32, 40];
const snrs = [5, 8, 12, 20, 35, 60, 120, 250];

export const againstBound: Cell = {
  id: 'against-the-bound',
  title: 'Against the least possible error',
  content(book) {
    const overRing = book.figure('error-over-ring', 376);
    const overSnr = book.figure('error-over-snr', 376);
    const ring = rangeControl(book, 'ring', {
      label: 'ring diameter',
      unit: 'px',
      extent: [0, 60],
      step: 0.5,
      value: 16,
    });
    const snr = rangeControl(book, 'snr', {
      label: 'SNR of the star',
      extent: [3, 300],
      step: 1,
      value: 30,
      isLogarithmic: true,
    });
    book.define(
      'measured',
      [rigName(chapter), 'ring', 'snr'],
      (rig: Rig, px: number, snr: number): SceneSetting => ({
        focusShiftUm: Math.round(10 * shiftOfRing(rig, px)) / 10,
        snr,
      }),
    );
    const lines = (
      shownBy: string,
      rig: Rig,
      points: AxisPoint[],
      chosenX: number,
      frames: string,
      outdated: Promise<unknown>,
    ) => {
      const signal = signalOf(outdated);
      return errorLines(
        rig,
        points,
        chosenX,
        estimatorNames,
        Number(frames),
        book.team(chapter, shownBy),
        signal,
        book.seen(chapter, signal),
      );
    };
    book.define(
      'errorsOverRing',
      [rigName(chapter), 'snr', 'frames', invalidation],
      (rig: Rig, snr: number, frames: string, outdated: Promise<unknown>) =>
        lines(
          'error-over-ring',
          rig,
          rings.map((x) => ({
            x,
            setting: { focusShiftUm: Math.round(10 * shiftOfRing(rig, x)) / 10, snr },
          })),
          Number(ring.value),
          frames,
          outdated,
        ),
    );
    book.define(
      'errorsOverSnr',
      [rigName(chapter), 'ring', 'frames', invalidation],
      (rig: Rig, px: number, frames: string, outdated: Promise<unknown>) =>
        lines(
          'error-over-snr',
          rig,
          snrs.map((x) => ({
            x,
            setting: { focusShiftUm: Math.round(10 * shiftOfRing(rig, px)) / 10, snr: x },
          })),
          Number(snr.value),
          frames,
          outdated,
        ),
    );
    book.define(
      'chosenErrors',
      [rigName(chapter), 'measured', 'frames', invalidation],
      (rig: Rig, setting: SceneSetting, frames: string, outdated: Promise<unknown>) =>
        lines('best-method', rig, [{ x: 0, setting }], 0, frames, outdated),
    );
    const [isNewOverRing, isNewOverSnr] = [newsOf(), newsOf()];
    book.show(
      ['errorsOverRing', rigName(chapter), 'snr', 'ring'],
      (errors: ErrorLines, rig: Rig, snr: number, px: number) => {
        const chart = errorChart(errors, {
          title: `Noise-equivalent error against the ring’s diameter at an SNR of ${snr}`,
          xLabel: 'outer diameter of the ring, px',
          at: (x) => `Ring of ${x} px`,
          own: rig.tracking.estimator,
          ...(px <= rings[rings.length - 1] ? { chosenX: px } : {}),
        });
        // A control that moves the mark alone has other figures to follow first.
        const redraw = isNewOverRing(errors) ? overRing.redraw : overRing.redrawLater;
        redraw(
          (options) => lineChart(chart, options),
          [
            `Noise-equivalent error (scatter divided by response) of every method, for a star whose SNR is ${snr} at every ring. ` +
              `Thick: the method of this rig. Where a line ends, the method fails even without noise. ${trialWords(errors)}`,
          ],
        );
      },
    );
    book.show(
      ['errorsOverSnr', rigName(chapter), 'ring', 'snr'],
      (errors: ErrorLines, rig: Rig, px: number, snr: number) => {
        const chart = errorChart(errors, {
          title: `Noise-equivalent error against the SNR for a ring of ${px} px`,
          xLabel: 'SNR of the star on the sensor',
          at: (x) => `SNR ${x}`,
          own: rig.tracking.estimator,
          isLogX: true,
          ...(snr >= snrs[0] && snr <= snrs[snrs.length - 1] ? { chosenX: snr } : {}),
        });
        const redraw = isNewOverSnr(errors) ? overSnr.redraw : overSnr.redrawLater;
        redraw(
          (options) => lineChart(chart, options),
          [
            shown(
              `The same against the SNR for a ring of ${px} px. Where the points stop falling, the method no longer follows the star: ` +
                `its position stays near the middle of the window. ${trialWords(errors)}`,
            ),
          ],
        );
      },
    );
    const best = element(
      'p',
      { class: 'answer' },
      book.text(['chosenErrors', rigName(chapter), 'ring', 'snr'], bestWords),
    );
    book.lookAt('best-method', best);
    return [
      paragraph(
        'SNR is the signal-to-noise ratio: the flux of the star divided by the least possible error of that flux. The least possible error, the Cramér–Rao bound, ' +
          'does not depend on the method. With the expected electrons ',
        math`\mu_j`,
        ' in pixel ',
        math`j`,
        ' and its read noise ',
        math`\sigma_r`,
        ',',
      ),
      formula`\sigma_x^2 \ge \left[ \sum_j \frac{1}{\mu_j + \sigma_r^2} \left( \frac{\partial \mu_j}{\partial x} \right)^{\!2} \right]^{-1} .`,
      source(
        'Source: H. Cramér, Mathematical Methods of Statistics (1946), from memory; for independent pixels whose noise is close to normal.',
      ),
      controls(ring, snr),
      best,
      overRing.element,
      overSnr.element,
      codeOf('error-lines.ts', code),
    ];
  },
};

/** A method that loses a larger share of the frames is not usable. */
const fewLost = 0.02;

/** The method with the least noise-equivalent error that loses few frames, against that of the rig. */
function bestWords({ lines }: ErrorLines, rig: Rig, ringPx: number, snr: number): string {
  const where = `With an SNR of ${snr} and a ring of ${ringPx} px`;
  if (lines.some((line) => line.trials.length === 0)) return shown(`${where}: the simulation has begun.`);
  const usable = lines
    .flatMap(({ estimator, trials: [point] }) => {
      const error = point?.row.noiseEquivalentPx?.value;
      return error === undefined || point.row.lostFraction.value > fewLost ? [] : { estimator, error };
    })
    .sort((a, b) => a.error - b.error);
  if (usable.length === 0) return shown(`${where} every method loses its star too often.`);
  const [best] = usable;
  const own = usable.find(({ estimator }) => estimator === rig.tracking.estimator);
  const least = `${where} the ${labelOf(best.estimator)} has the least noise-equivalent error, ${significant(best.error, 2)} px`;
  const name = labelOf(rig.tracking.estimator);
  if (own === undefined) return shown(`${least}; this rig’s ${name} loses too many frames.`);
  if (own === best) return shown(`${least}. It is the method of this rig.`);
  return shown(
    `${least}; this rig’s ${name} has ${significant(own.error, 2)} px, ${significant(own.error / best.error, 2)} times as much.`,
  );
}

const labelOf = (name: EstimatorName): string => estimatorLabels[name];
