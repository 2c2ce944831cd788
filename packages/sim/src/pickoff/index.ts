/**
 * The pick-off mirror: its shadow on the main sensor, and the star that it gives the guide camera.
 *
 * pickoff             does it shade the main sensor, how deep may it reach, what does its guide star get
 * pickoff-options     beam, sensor, mirror and where it stands
 * pickoff-geometry    the same in numbers, checked
 * pickoff-depth       how deep it may reach, by its rotation around the sensor
 * pickoff-trade-off   depth against shadow, light and shape of the guide star
 * pickoff-star        off-axis distance, light and aberrations of its guide star
 * edge-light          what its edge diffracts into the picture of a bright star, and its flank reflects
 * pickoff-star-error  how well that star's position can be known at best
 * edge-star           the star that a rig's pick-off sees, as every answer draws it
 * pickoff-exit-pupil  where the cone of light of each star comes from
 * shadow              which share of a pixel's light the mirror takes away
 * shadow-worst        the pixel that loses most
 * shadow-polygon      polygons against discs and half-planes
 */

export { type EdgeStar, type EdgeStarSetting, edgeStar } from './edge-star.ts';
export { type PickoffClearance, type PickoffShadow, pickoffClearance, pickoffShadow } from './pickoff.ts';
export type { PickoffMount, PickoffOptions, TelescopeDesign } from './pickoff-options.ts';
export {
  type PickoffDepth,
  type PickoffDepthLimits,
  type PickoffTradeOff,
  type PickoffTradeOffOptions,
  pickoffTradeOff,
} from './pickoff-trade-off.ts';
