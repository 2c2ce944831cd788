/** From one filter to the next: what moves, what becomes of the guide star, and what to do about it. */

import { plateScaleArcsecPerPx } from '@holdfast/psf';
import { noiseWithinBudgetArcsec } from '../budget/budget.ts';
import type { FocusLimit } from '../focus/focus-limit.ts';
import { decisionText, significant, withError } from '../number-text.ts';
import type { Rig } from '../rig/rig-schema.ts';
import { buildScene } from '../trials/scene.ts';
import type { Estimate } from '../trials/statistics.ts';
import { assessmentText } from './assessment.ts';
import type { FilterAdvice, Outcome } from './outcome.ts';

/**
 * A change of the filter, main camera refocused. Lengths at the guide sensor, um, unless the name says
 * otherwise.
 */
export interface FilterChange {
  /** Name of the filter before. */
  readonly from: string;
  /** Name of the filter after. */
  readonly to: string;
  /** How far the focuser takes both cameras, um; > 0 = away from the telescope. */
  readonly moveUm: number;
  /** The same in steps, when the rig knows its focuser. */
  readonly moveSteps?: number;
  /** Focus shift of the guide camera before and after. */
  readonly fromShiftUm: number;
  /** Focus shift of the guide camera after, um. */
  readonly toShiftUm: number;
  /** Diameter of the ring before and after, px. */
  readonly fromRingPx: number;
  /** Diameter of the ring after, px. */
  readonly toRingPx: number;
  /** SNR of the star's image before. */
  readonly fromSnr: number;
  /** SNR of the star's image after. */
  readonly toSnr: number;
  /** Noise-equivalent error per axis before and after; undefined where the star is not followed. */
  readonly fromNoiseArcsec: Estimate | undefined;
  /** The same after, arcsec. */
  readonly toNoiseArcsec: Estimate | undefined;
  /**
   * How far the measured star jumps on the guide sensor although nothing but the focus has changed, by the
   * rig's method, arcsec: 0 for a round pupil on the axis. A loop that keeps its old set point takes the
   * picture along by as much.
   */
  readonly jumpArcsec: { readonly x: number; readonly y: number };
  /** The same as the picture moves on the main sensor, px of that. */
  readonly pictureMovesPx: { readonly x: number; readonly y: number };
  /** Standard error of that, from the frames of both filters. */
  readonly pictureMovesErrorPx: { readonly x: number; readonly y: number };
  /** What to do on arrival. */
  readonly outcome: Outcome;
  /**
   * Least move of the guide camera on arrival that brings the star to the near end of the focus limit's
   * interval, um; 0 when it is there already, undefined when no move helps.
   */
  readonly guideMoveUm: number | undefined;
  /** Why, with its numbers, for a person to read. */
  readonly reason: string;
}

/** Every change from one filter of the rig to another, in the order of the list. */
export function filterChanges(rig: Rig, filters: readonly FilterAdvice[], limit: FocusLimit): FilterChange[] {
  const places = filters.map((filter) => measuredPlace(rig, filter));
  return filters.flatMap((from, i) =>
    filters.flatMap((to, j) => (i === j ? [] : [changeOf(rig, from, to, places[i], places[j], limit)])),
  );
}

/** With its standard error. */
interface Place {
  readonly x: number;
  readonly y: number;
  readonly errorX: number;
  readonly errorY: number;
}

function changeOf(
  rig: Rig,
  from: FilterAdvice,
  to: FilterAdvice,
  fromPlace: Place,
  toPlace: Place,
  limit: FocusLimit,
): FilterChange {
  const moveUm = to.focusShiftUm - from.focusShiftUm;
  const jumpArcsec = { x: toPlace.x - fromPlace.x, y: toPlace.y - fromPlace.y };
  const mainPxArcsec = plateScaleArcsecPerPx({
    pixelSizeUm: rig.mainCamera.pixelSizeUm,
    focalLengthMm: rig.telescope.focalLengthMm,
  });
  const guideMoveUm = moveToLimit(to.focusShiftUm, limit);
  const change = {
    from: from.filter,
    to: to.filter,
    moveUm,
    ...(rig.focuser ? { moveSteps: moveUm / rig.focuser.umPerStep } : {}),
    fromShiftUm: from.focusShiftUm,
    toShiftUm: to.focusShiftUm,
    fromRingPx: from.assessment.scene.outerDiameterPx,
    toRingPx: to.assessment.scene.outerDiameterPx,
    fromSnr: from.assessment.scene.snr,
    toSnr: to.assessment.scene.snr,
    fromNoiseArcsec: from.assessment.error.noiseEquivalentArcsec,
    toNoiseArcsec: to.assessment.error.noiseEquivalentArcsec,
    jumpArcsec,
    pictureMovesPx: { x: jumpArcsec.x / mainPxArcsec, y: jumpArcsec.y / mainPxArcsec },
    pictureMovesErrorPx: {
      x: Math.sqrt(fromPlace.errorX ** 2 + toPlace.errorX ** 2) / mainPxArcsec,
      y: Math.sqrt(fromPlace.errorY ** 2 + toPlace.errorY ** 2) / mainPxArcsec,
    },
    outcome: to.outcome,
    guideMoveUm,
  };
  return { ...change, reason: reasonOf(rig, change, to) };
}

/**
 * Where the method has the star against one in focus, arcsec: the center of its light, and the method's
 * offset from that.
 */
function measuredPlace(rig: Rig, { focusShiftUm, assessment: { error } }: FilterAdvice): Place {
  const { lightOffsetPx, arcsecPerPx, star } = buildScene(rig, { focusShiftUm });
  // A star that is the same on all sides has no offset but by chance.
  const offsetOf = (offset: Estimate | undefined) => (star.isSymmetric ? none : (offset ?? none));
  const offsetX = offsetOf(error.offsetXPx);
  const offsetY = offsetOf(error.offsetYPx);
  return {
    x: (lightOffsetPx.x + offsetX.value) * arcsecPerPx,
    y: (lightOffsetPx.y + offsetY.value) * arcsecPerPx,
    errorX: offsetX.standardError * arcsecPerPx,
    errorY: offsetY.standardError * arcsecPerPx,
  };
}

const none: Estimate = { value: 0, standardError: 0 };

function moveToLimit(shiftUm: number, { before, beyond }: FocusLimit): number | undefined {
  const side = shiftUm > 0 ? beyond : before;
  const far = Math.abs(shiftUm) - side.limitUm.low;
  if (far <= 0) return 0;
  if (side.limitedBy === 'out-of-budget-in-focus') return undefined;
  return shiftUm > 0 ? -far : far;
}

function reasonOf(rig: Rig, change: Omit<FilterChange, 'reason'>, to: FilterAdvice): string {
  const { fromRingPx, toRingPx, fromSnr, toSnr, guideMoveUm } = change;
  const moves = pictureMoves(change);
  const parts = [
    `ring ${fromRingPx.toFixed(1)} to ${toRingPx.toFixed(1)} px, SNR ${significant(fromSnr, 2)} to ${significant(toSnr, 2)}`,
    errorText(rig, change),
    ...(moves.value >= 0.01 ? [`the picture moves by ${withError(moves)} px of the main sensor`] : []),
    assessmentText(rig, to.assessment),
    ...actionOf(to, guideMoveUm),
  ];
  return parts.join('; ');
}

/** How far the picture moves on the main sensor, px of that, whatever the direction. */
export function pictureMoves({
  pictureMovesPx: { x, y },
  pictureMovesErrorPx: error,
}: Pick<FilterChange, 'pictureMovesPx' | 'pictureMovesErrorPx'>): Estimate {
  const value = Math.sqrt(x * x + y * y);
  const standardError = value > 0 ? Math.sqrt((x * error.x) ** 2 + (y * error.y) ** 2) / value : 0;
  return { value, standardError };
}

function errorText(rig: Rig, { fromNoiseArcsec, toNoiseArcsec }: Omit<FilterChange, 'reason'>): string {
  const allowed = noiseWithinBudgetArcsec(rig);
  const text = (rms: Estimate | undefined) => (rms ? decisionText(rms, allowed) : 'none');
  return `error ${text(fromNoiseArcsec)} to ${text(toNoiseArcsec)} arcsec`;
}

function actionOf({ outcome, trim }: FilterAdvice, guideMoveUm: number | undefined): string[] {
  if (outcome === 'keep') return [];
  if (outcome === 'trim' && trim) return [trim.change];
  if (guideMoveUm === undefined || guideMoveUm === 0) return ['refocusing alone does not help'];
  const direction = guideMoveUm > 0 ? 'away from' : 'toward';
  return [
    `move the guide camera by ${significant(Math.abs(guideMoveUm), 3)} µm or more ${direction} the telescope`,
  ];
}
