/**
 * The mean slope of a wavefront over the light of a sampled pupil: where the center of mass of its image
 * lies.
 */

/** Slopes per sample, in the unit of the wavefront. */
export interface MeanSlope {
  x: number;
  y: number;
}

/**
 * Ready to measure the mean slope of wavefronts over a pupil, sampled alike.
 *
 *   x = sum a[j, i] a[j, i + 1] (W[j, i + 1] - W[j, i]) / sum a[j, i] a[j, i + 1], y likewise down the
 *   columns
 *
 * The products of neighboring amplitudes a are how the first Fourier coefficient of the image weights the
 * differences, so that this is the center of mass of the wave's image while W changes by little from sample
 * to sample.
 *
 * @param amplitude  square root of the intensity in each sample, row-major, samples * samples
 */
export function prepareMeanSlope(
  amplitude: Float64Array,
  samples: number,
): (wave: Float64Array, out: MeanSlope) => void {
  const weightX = new Float64Array(samples * samples);
  const weightY = new Float64Array(samples * samples);
  let sumX = 0;
  let sumY = 0;
  for (let y = 0, k = 0; y < samples; y++)
    for (let x = 0; x < samples; x++, k++) {
      weightX[k] = x + 1 < samples ? amplitude[k] * amplitude[k + 1] : 0;
      weightY[k] = y + 1 < samples ? amplitude[k] * amplitude[k + samples] : 0;
      sumX += weightX[k];
      sumY += weightY[k];
    }
  return (wave, out) => {
    let x = 0;
    let y = 0;
    for (let k = 0; k < weightX.length; k++) {
      if (weightX[k] > 0) x += weightX[k] * (wave[k + 1] - wave[k]);
      if (weightY[k] > 0) y += weightY[k] * (wave[k + samples] - wave[k]);
    }
    out.x = sumX > 0 ? x / sumX : 0;
    out.y = sumY > 0 ? y / sumY : 0;
  };
}
