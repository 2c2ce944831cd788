/** What every way of use must print: a star measured, and two cells of a sweep with an own estimator. */
import { gaussianFit } from '@holdfast/centroid';
import { defaultCamera, exposeFrame, randomStream, renderStar } from '@holdfast/psf';
import { inCellOrder, parseRig, sweep } from '@holdfast/sim';

export async function task(estimator, runner) {
  const star = renderStar(
    { kind: 'gaussian', fwhmPx: 3 },
    { width: 21, height: 19, x: 9.3, y: 8.8, flux: 9000 },
  );
  const frame = exposeFrame(star, defaultCamera, randomStream('install', 1));
  const { x, y } = gaussianFit(frame, { background: 0 });
  const rig = parseRig({
    name: 'Test rig',
    telescope: { apertureMm: 150, focalLengthMm: 750, obstructionRatio: 0.3 },
    guideCamera: { pixelSizeUm: 4, exposureS: 2, readNoiseE: 2 },
    mainCamera: { pixelSizeUm: 4 },
    sky: { seeingFwhmArcsec: 2.5 },
    guideStar: { magnitude: 11 },
    filters: [{ name: 'Luminance', focusShiftUm: 0 }],
    starModel: 'geometric',
  });
  const rows = [];
  for await (const row of sweep(rig, {
    axes: { focusShiftUm: [0, 60], snr: [40], estimator: [estimator, 'gaussianFit'] },
    seed: 1,
    trials: 64,
    ...(runner === undefined ? {} : { runner }),
  }))
    rows.push(row);
  const errors = inCellOrder(rows).map((row) => `${row.estimator} ${row.noiseEquivalentPx?.value}`);
  return [x, y, ...errors].join(' ');
}
