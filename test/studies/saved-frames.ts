/**
 * Whether results with chance taken out are right: the mean of many short runs against one long one, how
 * often their 95 % intervals contain it, and how many frames are saved.
 * `npx tsx --conditions=@holdfast/source test/studies/saved-frames.ts [short runs] [trials of each] [cell]`
 */
import { buildScene, compareEstimators, type PositionError } from '@holdfast/sim';
import mine from '../sim/own/mine.ts';
import { studyRig, umPerRingPx } from './study-rig.ts';

const [runs, trials, only] = [2, 3, 4].map((i, k) => Number(process.argv[i] ?? [1000, 256, -1][k]));
const longTrials = 16384;

const cells = [
  { ringPx: 0, snr: 60, windowPx: 21 },
  { ringPx: 12, snr: 20, windowPx: 25 },
  { ringPx: 24, snr: 40, windowPx: 37 },
];
const estimators = ['centerOfMass', 'thresholdedCenterOfMass', 'gaussianFit', 'templateFit', mine] as const;
const parts = [
  'offsetXPx',
  'pixelPhasePx',
  'scatterXPx',
  'scatterPx',
  'responseX',
  'noiseEquivalentPx',
  'rmsAgainstTruePx',
] as const;

const mean = (values: readonly number[]) => values.reduce((a, b) => a + b, 0) / values.length;
const deviation = (values: readonly number[]) =>
  Math.sqrt((mean(values.map((v) => v * v)) - mean(values) ** 2) * (values.length / (values.length - 1)));

console.log(`${runs} runs of ${trials} frames against one of ${longTrials}`);
for (const [i, { ringPx, snr, windowPx }] of cells.entries()) {
  if (only >= 0 && only !== i) continue;
  const rig = studyRig({ tracking: { windowPx }, starModel: 'geometric' });
  const scene = buildScene(rig, { focusShiftUm: ringPx * umPerRingPx, snr });
  const truths: PositionError<string>[] = compareEstimators(scene, {
    estimators,
    seed: 'long',
    trials: longTrials,
  });
  const found = Array.from({ length: runs }, (_, run) =>
    compareEstimators(scene, { estimators, seed: `short ${run}`, trials }),
  );
  for (const [e, truth] of truths.entries()) {
    const errors: PositionError<string>[] = found.map((each) => each[e]);
    const worth = mean(errors.map(({ plainTrials = 0, located }) => plainTrials / located));
    const lost = (100 * truth.lostFraction.value).toFixed(1);
    console.log(
      `ring ${ringPx} px, SNR ${snr}, ${truth.estimator}: ${lost} % lost; a frame is worth ${worth.toFixed(1)}`,
    );
    for (const part of parts) {
      const right = truth[part];
      const each = errors.flatMap((error) => error[part] ?? []);
      if (right === undefined || each.length < runs) continue;
      const values = each.map(({ value }) => value);
      const sd = deviation(values);
      const off = (mean(values) - right.value) / Math.hypot(sd / Math.sqrt(runs), right.standardError);
      // What is sought is known to the error of the long run, which widens nothing here.
      const holds = each.filter(
        ({ value, standardError }) => Math.abs(value - right.value) <= 1.96 * standardError,
      ).length;
      const stated = mean(each.map(({ standardError }) => standardError));
      console.log(
        `  ${part}: ${right.value.toPrecision(5)} +- ${right.standardError.toPrecision(2)}, off by ${off.toFixed(1)} standard errors; sd ${sd.toPrecision(3)}, stated ${stated.toPrecision(3)}; contains it in ${((100 * holds) / runs).toFixed(1)} %`,
      );
    }
  }
}
