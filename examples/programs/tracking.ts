/**
 * What does guiding do through a focus run, a filter change or a lost star, and what does it cost the
 * picture?
 */
import { compareWays, eventKinds } from '../reports/tracking-comparison.ts';
import { trackingText } from '../reports/tracking-text.ts';
import { command } from './command-line/command.ts';
import { flag, number, text, word } from './command-line/option.ts';
import { estimator, figureFile, rig, seed } from './command-line/shared-options.ts';
import { writeFigure } from './command-line/write-figure.ts';

export const tracking = command({
  name: 'tracking',
  question: 'What does guiding do through a focus run, a filter change or a lost star?',
  about: [
    'Simulates the loop with the event several times: with a pause (no corrections meanwhile) that resumes on the old ' +
      'set point, with a pause that resumes where the star is found, and without a pause. One more run has no event. ' +
      'Times in s, angles in arcsec, focus shifts in µm at the guide sensor.',
  ],
  options: {
    rig,
    event: word('KIND', eventKinds.join(', '), eventKinds, { default: 'focus-run' }),
    at: number('S', 'start of the event', { default: 180 }),
    span: number('UM', 'focus run: largest shift to either side', {
      otherwise: 'a ring four times as wide as the seeing',
    }),
    positions: number('N', 'focus run: positions, 2 to 99', { isWhole: true, low: 2, high: 99, default: 9 }),
    seconds: number('S', 'focus run: at each position; filter-change, no-star: how long there is no star', {
      default: 8,
    }),
    filter: text('NAME', 'filter-change: the filter that it changes to, by its name in the rig', {
      otherwise: "the rig's second",
    }),
    duration: number('S', 'length of each run', { default: 600 }),
    exposure: number('S', 'exposures of the main camera', { default: 120 }),
    pause: flag('no exposure of the main camera during the event'),
    runs: number('N', 'number of runs, each with other air, wind and noise, 2 to 10000', {
      isWhole: true,
      low: 2,
      high: 10_000,
      default: 8,
    }),
    gain: number('G', 'proportional gain', { otherwise: "the rig's" }),
    integral: number('I', 'integral gain', { default: 0 }),
    deadZone: number('ARCSEC', 'smaller offsets are not corrected', { default: 0 }),
    delay: number('S', 'from the end of a guide frame to its correction', { otherwise: "the rig's" }),
    estimator,
    clip: number(
      'C',
      "a straight edge, such as a pick-off, clips the beam at this distance from the beam's center, in radii of the aperture. " +
        'The star then moves when its focus changes',
      { otherwise: 'what the rig says' },
    ),
    measurement: word(
      'HOW',
      'frames (each guide frame drawn and measured) or gaussian (random errors of the same size)',
      ['frames', 'gaussian'],
      { default: 'frames' },
    ),
    seed,
    figure: figureFile('draw the first run with each way of guiding'),
  },
  async run({ rig, figure, ...options }, { onProgress }) {
    const comparison = await compareWays(rig, options, onProgress ? { onProgress } : {});
    if (figure !== undefined)
      await writeFigure(figure, async (options) =>
        (await import('../figures/track-figure.ts')).trackFigure(comparison, options),
      );
    return { data: comparison, text: () => [trackingText(rig, options, comparison)] };
  },
});
