/**
 * Which threshold for one who sets it once: noise-equivalent error of the thresholded center of mass over
 * rings and SNR, for windows, thresholds and forms (subtract the threshold, or keep the pixel's value), over
 * the best of them for each star. `npx tsx --conditions=@holdfast/source test/studies/threshold-choice.ts`
 */
import { buildScene, compareEstimators } from '@holdfast/sim';
import { studyRig, umPerRingPx } from './study-rig.ts';

const rig = studyRig();
const trials = Number(process.argv[2] ?? 128);
const thresholds = [1, 2, 3, 4, 5];
const forms = ['subtract', 'keep'] as const;
const ratios = new Map<string, number[]>();
let stars = 0;
for (const ringPx of [0, 10, 20, 40])
  for (const snr of [8, 15, 30, 100]) {
    const errors = [31, 51, 71].flatMap((windowPx) =>
      compareEstimators(buildScene(rig, { focusShiftUm: ringPx * umPerRingPx, snr, windowPx }), {
        estimators: forms.flatMap((thresholdForm) =>
          thresholds.map((thresholdSigma) => ({
            estimator: 'thresholdedCenterOfMass' as const,
            thresholdSigma,
            thresholdForm,
          })),
        ),
        seed: 1,
        trials,
      }).map((error) => ({
        set: `window ${windowPx} px, ${error.thresholdSigma} sigma, ${error.thresholdForm}`,
        // A star that loses a tenth of its frames does not guide.
        noisePx: error.lostFraction.value < 0.1 ? (error.noiseEquivalentPx?.value ?? Infinity) : Infinity,
      })),
    );
    const best = Math.min(...errors.map(({ noisePx }) => noisePx));
    if (best === Infinity) continue;
    stars++;
    for (const { set, noisePx } of errors) ratios.set(set, [...(ratios.get(set) ?? []), noisePx / best]);
  }
console.log(`${stars} stars that some setting measures; error over that of the best setting for each star`);
for (const [set, list] of ratios) {
  const found = list.filter((ratio) => ratio < Infinity);
  const mean = Math.exp(found.reduce((sum, ratio) => sum + Math.log(ratio), 0) / found.length);
  console.log(
    `${set}: ${list.length - found.length} not measured, geometric mean ${mean.toFixed(2)}, worst ${Math.max(...found).toFixed(1)}`,
  );
}
