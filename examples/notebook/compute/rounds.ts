/** How many frames are simulated, round after round: a first look, then advice, then what was asked for. */

/** What a reader may ask for at most; the command line takes the usual number when nothing is said. */
export const mostFrames = new Map([
  ['256: quick', '256'],
  ['1024: as on the command line', '1024'],
  ['4096: four times the time', '4096'],
]);
export const usualFrames = '1024';

/** Few enough for a moment: no outcome rests on them. */
export const firstLookFrames = 64;
/** No frame is simulated while a control is being dragged. */
export const firstLookMs = 80;

/** The rounds after the first look, up to this number of frames. */
export const roundsTo = (most: number): number[] => [256, 1024, 4096].filter((trials) => trials <= most);
