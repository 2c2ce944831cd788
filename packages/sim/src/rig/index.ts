/**
 * What a rig is: the file that describes one, read and checked; its filters and its temperature.
 *
 * rig-schema    what stands in a rig file: names, units, ranges, defaults; its JSON Schema
 * rig           reading a rig file, all faults at once
 * rig-text      its text: refused when too long, too deep, or with a key given twice
 * renamed-keys  where the keys of older rig files stand now
 * rig-fault     what is wrong with one, in words
 * pickoff-schema      what it may say of its pick-off
 * temperature-schema  what it may say of the temperature
 * rig-quantity  the kinds of numbers in one
 * telescope-design  what its stars look like away from the axis, by the telescope's design
 * rig-pickoff   its pick-off, and whether that can exist
 * two-mirrors   where a second mirror stands, and which pairs there cannot be
 * telescope-faults  whether aperture and focal length can belong together
 * stamp-limit   whether its star fits into a stamp that can be simulated
 * filters       its filters: focus shifts in um, in steps or by glass
 * guide-light   which light reaches the guide camera, by where the filters stand
 * start-rig     a rig from what an imager sees, every assumption stated
 * temperature   what a falling temperature does to the focus
 */
export type { RigFilter } from './filters.ts';
export { parseRig, rigNotices } from './rig.ts';
export { RigError, type RigFault } from './rig-fault.ts';
export { type EstimatorName, estimatorNames, type Rig, rigJsonSchema } from './rig-schema.ts';
export { type RigAssumption, type SeenRig, type StartedRig, startRig } from './start-rig.ts';
export { designOf, type RigDesign } from './telescope-design.ts';
export {
  type SecondMirror,
  type ThermalDrift,
  type ThermalFocusOptions,
  thermalDrift,
  thermalFocusUmPerK,
} from './temperature.ts';
