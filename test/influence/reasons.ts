/** Why an entry of the rig file leaves an answer unchanged. */
interface Reason {
  /** Entries whose path is one of these, or begins so. */
  readonly entries: readonly string[];
  readonly programs: readonly string[];
  readonly reason: string;
}

const everywhere = [
  ...['refocus', 'frames', 'advice-page', 'filters', 'best-guide-focus', 'pickoff', 'guide-star-odds'],
  ...['tracking', 'sweep', 'simulate-frame'],
];
const but = (...those: readonly string[]): string[] => everywhere.filter((name) => !those.includes(name));

/** Answers about the filters of the night. */
const ofFilters = ['refocus', 'advice-page', 'filters', 'best-guide-focus'];

export const reasons: readonly Reason[] = [
  { entries: ['$schema'], programs: everywhere, reason: 'for editors alone' },
  {
    entries: ['name'],
    programs: ['advice-page', 'sweep'],
    reason: 'stands in the page, and in the rig of each row, not in what is printed',
  },
  {
    entries: ['guideCamera.widthPx', 'guideCamera.heightPx'],
    programs: but('advice-page', 'guide-star-odds'),
    reason: 'the sides of the sensor say how many stars it sees, not how well one is measured',
  },
  {
    entries: ['guideCamera.offsetAdu'],
    programs: but('frames', 'simulate-frame'),
    reason: 'a constant of the file that is taken off before any measurement',
  },
  {
    entries: ['guideCamera.bitDepth', 'guideCamera.fullWellE'],
    programs: ['frames', 'filters', 'pickoff', 'guide-star-odds', 'sweep', 'simulate-frame'],
    reason: 'no star of these answers reaches so far',
  },
  {
    entries: ['guideCamera.hotPixelsPerMillion'],
    programs: but('refocus', 'advice-page'),
    reason: 'told as a chance, where the answer says what may stand beside the star',
  },
  {
    entries: ['galacticLatitudeDeg', 'galacticLongitudeDeg'],
    programs: but('refocus', 'advice-page', 'guide-star-odds'),
    reason: 'tells how many stars there are: for the odds and the chance of a neighbor',
  },
  {
    entries: ['mainCamera'],
    programs: ['sweep', 'simulate-frame'],
    reason: 'the error of the position and the frame are those of the guide camera',
  },
  {
    entries: ['mainCamera.exposureS'],
    programs: ['tracking'],
    reason: 'tracking says what the guide star does, not how long the picture is exposed',
  },
  {
    entries: ['sky.extinctionMagPerAirmass', 'sky.airmass', 'guideStar.magnitude'],
    programs: ['frames'],
    reason: 'the frame shows how bright its star is',
  },
  {
    entries: ['guideStar.magnitude'],
    programs: ['guide-star-odds'],
    reason: 'the faintest star is what is asked for',
  },
  {
    entries: ['sky.windMPerS', 'tracking', 'budget'],
    programs: ['simulate-frame'],
    reason: 'one frame knows no motion from frame to frame, and nobody measures it',
  },
  {
    entries: ['sky.turbulenceHeightM', 'tracking.available'],
    programs: but('refocus', 'advice-page', 'filters'),
    reason: 'decides which changes help a star outside the budget: only those answers try changes',
  },
  {
    entries: ['guideFocusShiftUm'],
    programs: ['frames', 'sweep', 'simulate-frame'],
    reason: 'the frame, the axis or the option says how far out of focus the star is',
  },
  {
    entries: ['filters', 'filtersStand', 'referenceFilter'],
    programs: but(...ofFilters),
    reason: 'the answer is for one focus shift, whichever filter brings it, or for a filter of least light',
  },
  {
    entries: ['filters.[].minutes'],
    programs: ['filters'],
    reason: 'what a change of the filter does is the same however long it is used',
  },
  {
    entries: ['focuser.moves'],
    programs: but('refocus', 'advice-page'),
    reason: 'a note in words on a telescope that focuses by its mirror',
  },
  {
    entries: ['focuser.umPerStep'],
    programs: but('refocus', 'advice-page', 'filters'),
    reason: 'only those answers speak of focuser steps',
  },
  {
    entries: ['focuser.focusRun'],
    programs: but('advice-page'),
    reason: "only the page tells what the rig's focus run does; tracking asks for its times itself",
  },
  {
    entries: ['temperature'],
    programs: ['tracking', 'sweep', 'simulate-frame'],
    reason: 'what is asked for stands at one temperature',
  },
  {
    entries: ['temperature.refocusEveryK', 'temperature.guidePathUmPerK'],
    programs: ['frames', 'filters', 'pickoff', 'guide-star-odds'],
    reason: 'moves the guide focus over a night, and the answer is for a minute of it',
  },
  {
    entries: ['pickoff.mainSensor', 'pickoff.angleDeg', 'pickoff.allowedLossPercent'],
    programs: but('refocus', 'advice-page', 'pickoff'),
    reason: 'for the shadow on the main sensor, not for the guide star',
  },
  {
    entries: ['offAxis'],
    programs: ['pickoff'],
    reason: 'the star follows from the mirror at each depth',
  },
  {
    entries: ['offAxis.offAxisMm'],
    programs: ['best-guide-focus', 'guide-star-odds', 'simulate-frame'],
    reason: 'with aberrations written by hand the distance is only told in words',
  },
  {
    entries: ['tracking.otherRmsArcsec'],
    programs: ['tracking', 'sweep'],
    reason: 'spent in the picture, beside what these answers tell',
  },
  {
    entries: ['tracking.estimator'],
    programs: ['sweep'],
    reason: 'an axis of the sweep; by default all methods',
  },
  {
    entries: ['tracking.searchPx'],
    programs: ['pickoff', 'simulate-frame'],
    reason: 'by formula, which knows of no search',
  },
  {
    entries: ['tracking.templateFrames'],
    programs: ['pickoff', 'guide-star-odds', 'tracking', 'sweep'],
    reason: 'the template there is the exact star, or no frame is drawn: a mean of frames is worse',
  },
  {
    entries: ['tracking.mount'],
    programs: ['pickoff', 'guide-star-odds'],
    reason: 'so small beside the air that the rounded answer stays',
  },
  {
    entries: ['budget'],
    programs: ['tracking', 'sweep'],
    reason: 'errors are told, not judged',
  },
  {
    entries: ['budget.lostFractionPercent'],
    programs: ['pickoff', 'guide-star-odds'],
    reason: 'noise ends what is allowed before a frame in fifty is lost',
  },
];

export const isBelow = (entry: string, start: string): boolean =>
  entry === start || entry.startsWith(`${start}.`);

export const reasonFor = (entry: string, program: string): string | undefined =>
  reasons.find(
    ({ entries, programs }) => programs.includes(program) && entries.some((start) => isBelow(entry, start)),
  )?.reason;
