/** The pick-off of a rig, and whether it can exist. */
import { pickoffGeometry } from '../pickoff/pickoff-geometry.ts';
import type { PickoffOptions, TelescopeDesign } from '../pickoff/pickoff-options.ts';
import { pickoffStar } from '../pickoff/pickoff-star.ts';
import type { RigPickoff } from './pickoff-schema.ts';
import type { RigFault } from './rig-fault.ts';
import type { Rig } from './rig-schema.ts';
import { designOf } from './telescope-design.ts';

/** The pick-off with its telescope, as `pickoffClearance` takes it; undefined when the rig names none. */
export function pickoffOptionsOf(rig: Rig): PickoffOptions | undefined {
  return rig.pickoff && optionsOf(rig.pickoff, rig.telescope, designOf(rig));
}

function optionsOf(
  { exitPupilDistanceMm, guideAngleDeg: _, ...mount }: RigPickoff,
  { apertureMm, focalLengthMm, obstructionRatio }: Rig['telescope'],
  design: TelescopeDesign | undefined,
): PickoffOptions {
  return {
    ...mount,
    apertureMm,
    focalLengthMm,
    obstructionRatio,
    ...(exitPupilDistanceMm === undefined ? {} : { exitPupilDistanceMm }),
    ...(design ? { design } : {}),
  };
}

/** What makes each impossible length harmless, so that the next one shows itself, too. */
const cures: Readonly<Record<string, (options: PickoffOptions) => PickoffOptions>> = {
  'mirror.widthMm': ({ mirror, ...rest }) => ({ ...rest, mirror: { ...mirror, widthMm: rest.openingMm } }),
  'mirror.depthMm': ({ mirror, ...rest }) => ({
    ...rest,
    mirror: { ...mirror, depthMm: Math.min(rest.openingMm, rest.flangeDistanceMm) / 4 },
  }),
  'mirror.distanceMm': ({ mirror, ...rest }) => ({
    ...rest,
    mirror: {
      ...mirror,
      depthMm: Math.min(mirror.depthMm, rest.flangeDistanceMm / 2),
      distanceMm: rest.flangeDistanceMm / 2,
    },
  }),
  exitPupilDistanceMm: (options) => ({ ...options, exitPupilDistanceMm: 1e9 }),
};

/** What makes the pick-off of a rig impossible: all of it, as far as the lengths can be told apart. */
export function pickoffFaults(
  pickoff: RigPickoff,
  telescope: Rig['telescope'],
  design: TelescopeDesign | undefined,
): RigFault[] {
  const faults = new Map<string, RigFault>();
  let options: PickoffOptions | undefined = optionsOf(pickoff, telescope, design);
  while (options !== undefined) {
    const fault = faultOf(options);
    // A cure that does not help ends the search.
    if (fault === undefined || faults.has(fault.field)) break;
    faults.set(fault.field, fault);
    options = cures[fault.field]?.(options);
  }
  return [...faults.values()].map(({ field, ...fault }) => ({
    ...fault,
    field: field.startsWith('design.') ? `telescope.${field}` : `pickoff.${field}`,
  }));
}

/** A check's message says field, what is allowed, and what it got. */
function faultOf(options: PickoffOptions): RigFault | undefined {
  try {
    const geometry = pickoffGeometry(options);
    if (pickoffStar(options, geometry, options.edgeFromAxisMm).pupil === undefined)
      throw new RangeError(
        `edgeFromAxisMm must be where at least 0.1 % of its star's light arrives, got ${options.edgeFromAxisMm}`,
      );
    return undefined;
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    const [, field, allowed, got] = /^(\S+) must be (.*), got (.*)$/.exec(error.message) ?? [];
    return field === undefined || allowed === undefined || got === undefined
      ? { field: '', got: 'these lengths', allowed: error.message }
      : { field, allowed, got };
  }
}
