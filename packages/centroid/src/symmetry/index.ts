/**
 * The point about which a star equals itself after half a turn.
 *
 * mirror-symmetry  the point about which the star is most like itself
 * symmetry-peak    to a fraction of a pixel, and its error
 * half-turn        how unlike an image is to itself turned about a point
 */
export {
  type MirrorSymmetryLocated,
  type MirrorSymmetryOptions,
  mirrorSymmetryCenter,
  prepareMirrorSymmetryCenter,
} from './mirror-symmetry.ts';
