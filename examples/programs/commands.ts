/** Every question that the program answers; each is loaded when it is asked. */
import type { Command } from './command-line/command.ts';

export interface CommandEntry {
  readonly name: string;
  /** What it answers, for the list in the help. */
  readonly answers: string;
  load(): Promise<Command>;
}

/** What is asked when no name is given. */
export const mainCommand = 'refocus';

export const commands: readonly CommandEntry[] = [
  {
    name: 'refocus',
    answers: 'must the guide camera be refocused, for one ring or filter by filter?',
    load: async () => (await import('./refocus.ts')).refocus,
  },
  {
    name: 'frames',
    answers: 'your own frames (FITS, PNG, TIFF, films): stars, rings, focus, motion and noise',
    load: async () => (await import('./frames.ts')).frames,
  },
  {
    name: 'follow',
    answers: 'a folder of frames as they come: the guide star of each, and the correction in pixels',
    load: async () => (await import('./follow.ts')).follow,
  },
  {
    name: 'advice-page',
    answers: 'everything for a rig on one page',
    load: async () => (await import('./advice-page.ts')).advicePage,
  },
  {
    name: 'filters',
    answers: 'what each change of the filter does to the guide star',
    load: async () => (await import('./filters.ts')).filters,
  },
  {
    name: 'best-guide-focus',
    answers: 'the one guide focus that suits all filters, with the margin left',
    load: async () => (await import('./best-guide-focus.ts')).bestFocus,
  },
  {
    name: 'pickoff',
    answers: 'how deep the pick-off may reach, and what star it then sees',
    load: async () => (await import('./pickoff.ts')).pickoff,
  },
  {
    name: 'guide-star-odds',
    answers: 'is there a guide star at all, by galactic latitude',
    load: async () => (await import('./guide-star-odds.ts')).guideStarOdds,
  },
  {
    name: 'tracking',
    answers: 'what a focus run, a filter change or a lost star does to guiding',
    load: async () => (await import('./tracking.ts')).tracking,
  },
  {
    name: 'sweep',
    answers: 'the error over a grid of settings: tables (CSV, Arrow), maps (SVG, PNG)',
    load: async () => (await import('./sweep/sweep.ts')).sweepGrid,
  },
  {
    name: 'estimators',
    answers: 'each method against the least possible error, from focus to wide rings',
    load: async () => (await import('./estimators.ts')).estimators,
  },
  {
    name: 'ring-or-star',
    answers: 'where the star of a pick-off gets a different answer from a plain ring',
    load: async () => (await import('./ring-or-star.ts')).ringOrStarProgram,
  },
  {
    name: 'simulate-frame',
    answers: 'guide frames of a rig at any focus shift, as FITS',
    load: async () => (await import('./simulate-frame.ts')).simulateFrame,
  },
  {
    name: 'star-shapes',
    answers: 'what every kind of star looks like, on one sheet',
    load: async () => (await import('./star-shapes.ts')).starShapes,
  },
];
