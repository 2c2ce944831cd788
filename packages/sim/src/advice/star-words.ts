/**
 * For which star an answer is, in words: where it stands, how much of its light arrives, whether its shape is
 * known.
 */
import { edgeStar } from '../pickoff/edge-star.ts';
import type { Rig } from '../rig/rig-schema.ts';
import { leastError } from '../trials/least-error.ts';
import { buildScene } from '../trials/scene.ts';

/** A usual star of a pick-off, mm from the axis (common practice, no source). */
const usualMm = 13;

/**
 * One sentence. For a star on the axis it says by how much that of a usual pick-off would differ, by the
 * least possible error in focus: 13 mm off the axis, with the coma of a paraboloid or, without obstruction,
 * the astigmatism of a plain objective.
 */
export function starWords(rig: Rig): string {
  const star = edgeStar(rig);
  const light = star.lightShare < 0.995 ? `, with ${(100 * star.lightShare).toFixed(0)} % of its light` : '';
  if (star.measuredNm !== undefined)
    return `For the star whose wavefront was measured (offAxis.aberrationsNm)${light}.`;
  if (star.from === 'axis' || star.offAxisMm === 0) {
    return (
      `For a star on the axis, because the rig has no pick-off. The star of a usual pick-off, ${usualMm} mm off the axis, has ` +
      `${usualStarFactor(rig).toFixed(1)} times as large a least possible error in focus (by formula, without a corrector).`
    );
  }
  const place = `For the star of the ${star.from === 'pickoff' ? 'pick-off' : 'offAxis section'}, ${star.offAxisMm.toFixed(1)} mm off the axis`;
  if (star.aberrations === undefined)
    return `${place}${light}; its shape off the axis is not known: name telescope.design.`;
  return `${place}${light}, with the coma and astigmatism that the telescope's design gives it there.`;
}

/**
 * Least possible error in focus of a usual pick-off's star over that of one on the axis, both without a
 * clipped beam.
 */
export function usualStarFactor(rig: Rig): number {
  const { pickoff: _, offAxis: __, ...plain } = rig;
  const { design: ___, ...telescope } = rig.telescope;
  const kind = telescope.obstructionRatio > 0 ? ('paraboloid' as const) : ('refractor' as const);
  const errorOf = (one: Rig): number => leastError(buildScene(one, { focusShiftUm: 0 }));
  return (
    errorOf({
      ...plain,
      telescope: { ...telescope, design: { kind } },
      offAxis: { offAxisMm: usualMm, clipDistance: 1 },
    }) /
    errorOf({
      ...plain,
      telescope: { ...telescope, ...(rig.telescope.design ? { design: rig.telescope.design } : {}) },
    })
  );
}
