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
export const firstLookMs = 20;

/** On paper only the last round is seen. */
let isLastAlone = false;

/** While the whole page is computed for print, every round but the last is left out. */
export function onlyLastRound(isAlone: boolean): void {
  isLastAlone = isAlone;
}

/** Whether this round is to be computed, as things stand now. */
export const isWanted = (rounds: readonly unknown[], round: number): boolean =>
  !isLastAlone || round === rounds.length - 1;

/** The rounds that are wanted; each is asked about when its turn comes. */
export function* wantedOf<Round>(rounds: readonly Round[]): Generator<Round, void, undefined> {
  for (const [i, round] of rounds.entries()) if (isWanted(rounds, i)) yield round;
}

/** The rounds after the first look, up to this number of frames. */
export const roundsTo = (most: number): number[] => [256, 1024, 4096].filter((trials) => trials <= most);
