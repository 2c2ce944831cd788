/** A comparison of ways of guiding, as text. */
import type { Estimate, PictureEffect, Rig, TrackEvent } from '@holdfast/sim';
import { estimatorLabels, percent, significant, withError } from '@holdfast/sim/internal';
import { textTable } from './text-table.ts';
import type { GuidedWay, TrackingComparison, TrackingQuestion } from './tracking-comparison.ts';

export function trackingText(
  rig: Rig,
  asked: Pick<TrackingQuestion, 'estimator'>,
  { event, ways }: TrackingComparison,
): string {
  const [{ result }] = ways;
  const { timing, loop, runs, seed, scene } = result;
  const estimator = estimatorLabels[asked.estimator ?? rig.tracking.estimator];
  return [
    `${rig.name}: ${event === null ? 'guiding' : `guiding through ${eventWords(event)}`}`,
    '',
    `Guide frames of ${significant(timing.exposureS, 3)} s every ${significant(timing.intervalS, 3)} s, SNR ${significant(scene.snr, 3)}, ${estimator}; proportional gain ${loop.proportionalGain}` +
      ` (stable below ${significant(loop.largestStableGain, 3)})${loop.integralGain > 0 ? `, integral gain ${loop.integralGain}` : ''}.`,
    ...(result.walkArcsecPerUm.x === 0 && result.walkArcsecPerUm.y === 0
      ? []
      : [
          `The clipped star walks by ${significant(100 * result.walkArcsecPerUm.x, 3)} arcsec per 100 µm of focus shift.`,
        ]),
    '',
    ...(event === null ? positionTable(ways) : eventTable(ways)),
    '',
    'The picture: growth of the stars, and longest over shortest FWHM, by the position errors of each exposure',
    ...pictureTable(ways),
    ...(event === null ? [] : ['', verdict(ways)]),
    '',
    `${runs} runs, seed ${seed}; +- is the standard error of their mean. Arcsec from the set point at the start, x = right ascension, y = declination.`,
    `Not in these numbers: ${result.notModeled.join('; ')}.`,
  ].join('\n');
}

function eventWords(event: TrackEvent): string {
  switch (event.kind) {
    case 'focus-run': {
      const shifts = event.shiftsUm.map((shift) => Math.round(shift));
      return `a focus run from ${shifts[0]} to ${shifts[shifts.length - 1]} µm in ${shifts.length} positions of ${event.secondsEach} s`;
    }
    case 'filter-change':
      return `a filter change of ${event.withoutStarS} s without a star, to a focus shift of ${significant(event.focusShiftUm, 3)} µm`;
    case 'no-star':
      return `${event.durationS} s without a star`;
  }
}

/** x and y in one cell. */
const both = (x: Estimate, y: Estimate): string => `${withError(x)}, ${withError(y)}`;

function positionTable(ways: readonly GuidedWay[]): string[] {
  return textTable([
    ['way', 'off set point, rms x, y', 'peak x, y', 'lost'],
    ['', 'arcsec', 'arcsec', ''],
    ...ways.map(({ name, result: { position, lostFraction } }) => [
      name,
      both(position.rmsX, position.rmsY),
      both(position.peakX, position.peakY),
      percent(lostFraction.value),
    ]),
  ]);
}

function eventTable(ways: readonly GuidedWay[]): string[] {
  const [first] = ways[0].result.events;
  return textTable([
    [
      'way',
      'off set point, rms x, y',
      'peak x, y',
      'at its end, rms x, y',
      'stays, rms x, y',
      'uncorrected',
      'then back after',
    ],
    ['', 'arcsec', 'arcsec', 'arcsec', 'arcsec', 's', 's'],
    ...ways.map(({ name, result: { events } }) => {
      const [{ during, offsetOnResume, offsetLeft, withoutCorrectionS, recoveryS }] = events;
      return [
        name,
        both(during.rmsX, during.rmsY),
        both(during.peakX, during.peakY),
        both(offsetOnResume.rmsX, offsetOnResume.rmsY),
        both(offsetLeft.rmsX, offsetLeft.rmsY),
        withError(withoutCorrectionS),
        withError(recoveryS),
      ];
    }),
    [
      'without the event',
      both(first.duringWithout.rmsX, first.duringWithout.rmsY),
      both(first.duringWithout.peakX, first.duringWithout.peakY),
      '',
      '',
      '',
      '',
    ],
  ]);
}

const growth = ({ growthPercent, elongation }: Pick<PictureEffect, 'growthPercent' | 'elongation'>): string =>
  `${withError(growthPercent)} %, ${elongation.value.toFixed(2)}`;

function pictureTable(ways: readonly GuidedWay[]): string[] {
  const [{ result }] = ways;
  const hasEvent = result.positionWithout !== undefined;
  if (result.picture.length === 0) return ['no exposure ends within the simulated time'];
  return textTable([
    ['exposure', ...ways.map(({ name }) => name), ...(hasEvent ? ['without the event'] : [])],
    ['s', ...ways.map(() => ''), ...(hasEvent ? [''] : [])],
    ...result.picture.map((span, i) => [
      `${Math.round(span.startS)} to ${Math.round(span.endS)}${span.isInEvent ? ' *' : ''}`,
      ...ways.map((way) => growth(way.result.picture[i])),
      ...(span.without ? [growth(span.without)] : []),
    ]),
    ...(result.picture.some(({ isInEvent }) => isInEvent)
      ? [['* touched by the event', ...ways.map(() => ''), ...(hasEvent ? [''] : [])]]
      : []),
  ]);
}

/** Which way costs the picture least, and whether the runs can tell it from the next. */
function verdict(ways: readonly GuidedWay[]): string {
  const costs = ways.flatMap(({ name, result: { picture } }) => {
    const added = picture.flatMap((exposure) => (exposure.added ? [exposure.added.growthPercent] : []));
    if (added.length === 0) return [];
    return [
      {
        name,
        value: added.reduce((sum, { value }) => sum + value, 0),
        standardError: Math.sqrt(added.reduce((sum, { standardError }) => sum + standardError ** 2, 0)),
      },
    ];
  });
  costs.sort((a, b) => a.value - b.value);
  const [best, next] = costs;
  if (best === undefined || next === undefined)
    return 'No exposure ends within the simulated time, so the ways cannot be compared.';
  const error = Math.sqrt(best.standardError ** 2 + next.standardError ** 2);
  return next.value - best.value > 2 * error
    ? `${best.name} costs the picture least: ${withError(best)} % of growth added over all exposures; next: ${next.name}, ${withError(next)} %.`
    : `${best.name} and ${next.name} cost the picture least, ${withError(best)} and ${withError(next)} % of growth added over all exposures; the runs cannot tell them apart.`;
}
