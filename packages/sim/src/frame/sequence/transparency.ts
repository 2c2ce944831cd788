/** How much of the stars' light each frame of a sequence has: clouds, dew, a star behind a roof. */
import { median } from '@holdfast/psf/numerics';
import type { Estimate } from '../../trials/statistics.ts';

/**
 * The light of each frame's stars over their medians, weighted by the errors of their light: 1 on the median
 * frame of a lone star.
 *
 * @param fluxes  by star and frame, electrons; undefined where the star was not seen
 * @returns by frame; undefined where no star was seen
 */
export function transparencyOf(
  fluxes: readonly (readonly (Estimate | undefined)[])[],
): (Estimate | undefined)[] {
  const usual = fluxes.map((ofStar) =>
    median(ofStar.flatMap((flux) => (flux === undefined ? [] : [flux.value]))),
  );
  const frames = fluxes[0]?.length ?? 0;
  return Array.from({ length: frames }, (_, t) => {
    let [sum, total] = [0, 0];
    for (const [i, ofStar] of fluxes.entries()) {
      const flux = ofStar[t];
      if (flux === undefined || !(usual[i] > 0) || !(flux.standardError > 0)) continue;
      const weight = (usual[i] / flux.standardError) ** 2;
      sum += (weight * flux.value) / usual[i];
      total += weight;
    }
    return total > 0 ? { value: sum / total, standardError: 1 / Math.sqrt(total) } : undefined;
  });
}
