/**
 * Which light reaches the guide camera: that of the telescope, or of the filter where the filters stand
 * before the pick-off.
 */
import type { Rig } from './rig-schema.ts';

/**
 * The rig as its guide camera sees its star through a filter. Behind the pick-off, as is usual, a filter
 * leaves the guide light as it is. Before it, the guide light has the filter's band, and its glass moves the
 * focus of both cameras alike: the shift is 0.
 *
 * @param name  of a filter of the rig; any other leaves the rig as it is
 */
export function rigThrough(rig: Rig, name: string): Rig {
  const band = rig.filters.find((filter) => filter.name === name)?.band;
  return rig.filtersStand === 'before-pickoff' && band !== undefined
    ? { ...rig, guideCamera: { ...rig.guideCamera, ...band } }
    : rig;
}

/**
 * The filter that leaves a star of flat spectrum the least light; undefined where the guide light passes no
 * filter.
 */
export function dimmestFilter({ filters, filtersStand }: Rig): string | undefined {
  if (filtersStand !== 'before-pickoff') return undefined;
  const widthOf = (filter: Rig['filters'][number]) => filter.band?.bandwidthNm ?? Infinity;
  return filters.reduce((a, b) => (widthOf(b) < widthOf(a) ? b : a)).name;
}

/** The rig through that filter: what does for its light does for every filter's. */
export const rigInLeastLight = (rig: Rig): Rig => rigThrough(rig, dimmestFilter(rig) ?? '');
