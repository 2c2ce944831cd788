/**
 * The guider: looks for the star, pauses and resumes, keeps the set point, and turns offsets into
 * corrections.
 */
import type { RandomStream } from '@holdfast/psf';
import { prepareAxisLoop } from './control-loop.ts';
import type { GuideFrames } from './tracking-frames.ts';
import type { TrackPlan } from './tracking-options.ts';

/** What became of a guide frame, by index. */
export const frameStates = ['corrected', 'held', 'lost'] as const;
const corrected = 0;
const held = 1;
const lost = 2;

/** A guide frame as it truly is. */
export interface TrueFrame {
  /** Mean place of the star's light over the exposure, arcsec from the set point at the start of the run. */
  readonly x: number;
  readonly y: number;
  readonly focusShiftUm: number;
  /** Share of the exposure with a star. */
  readonly starShare: number;
  /** Whether an event, or the pause around it, touches the exposure. */
  readonly inEvent: boolean;
}

/** What the guider made of a frame. */
export interface Guidance {
  /** Index into `frameStates`. */
  state: number;
  /** Offset of the star from the set point as measured, arcsec; 0 where there is none. */
  offsetX: number;
  offsetY: number;
  /** Asked of the mount, arcsec. */
  moveX: number;
  moveY: number;
}

/** Takes the frames of one run in order; the result is overwritten by the next. */
export function prepareGuide(
  { scene, rig, corrections, policy, searchAfterLost, guided }: TrackPlan,
  { measure, setPoint }: GuideFrames,
): (frame: TrueFrame, random: RandomStream) => Guidance {
  const { arcsecPerPx } = scene;
  const { widthPx, heightPx, binning } = rig.guideCamera;
  // The star stands in the middle of the sensor when the run begins.
  const farthestX = widthPx / binning / 2;
  const farthestY = heightPx / binning / 2;
  const loopX = prepareAxisLoop(corrections);
  const loopY = prepareAxisLoop(corrections);
  const out: Guidance = { state: corrected, offsetX: 0, offsetY: 0, moveX: 0, moveY: 0 };
  const set = { x: setPoint.x * arcsecPerPx, y: setPoint.y * arcsecPerPx };
  const window = { column: 0, row: 0 };
  // A star farther off its set point than this takes the window along.
  const stayPx = scene.windowPx / 4;
  let lostInARow = 0;
  let isSearching = false;
  let wasHeld = false;
  let toAverage = 0;
  const average = { x: 0, y: 0 };

  function resume(): void {
    wasHeld = false;
    isSearching = true;
    toAverage = policy.resumeOn === 'new' ? policy.setPointFrames : 0;
    average.x = 0;
    average.y = 0;
  }

  /** Toward the new set point; true while it is still being measured. */
  function takeSetPoint(x: number, y: number): boolean {
    if (toAverage === 0) return false;
    average.x += x / policy.setPointFrames;
    average.y += y / policy.setPointFrames;
    toAverage--;
    if (toAverage === 0) {
      set.x = average.x;
      set.y = average.y;
    }
    return true;
  }

  return (frame, random) => {
    out.offsetX = out.offsetY = out.moveX = out.moveY = 0;
    if (policy.duringEvents === 'pause' && frame.inEvent) {
      wasHeld = true;
      out.state = held;
      return out;
    }
    if (wasHeld) resume();
    const x = frame.x / arcsecPerPx;
    const y = frame.y / arcsecPerPx;
    const isOnSensor = Math.abs(x) < farthestX && Math.abs(y) < farthestY;
    const starShare = isOnSensor ? frame.starShare : 0;
    if (isSearching) {
      // A search of the whole sensor finds the star if there is one, and mistakes nothing else for it.
      window.column = Math.round(x);
      window.row = Math.round(y);
    }
    const { column, row } = window;
    const canBeFound = !isSearching || starShare > 0;
    const found = canBeFound
      ? measure({ x, y, column, row, focusShiftUm: frame.focusShiftUm, starShare }, random)
      : undefined;
    if (found === undefined || !found.ok) {
      out.state = lost;
      lostInARow++;
      if (lostInARow >= searchAfterLost) isSearching = true;
      return out;
    }
    lostInARow = 0;
    isSearching = false;
    const measuredX = found.x * arcsecPerPx;
    const measuredY = found.y * arcsecPerPx;
    if (takeSetPoint(measuredX, measuredY)) out.state = held;
    else {
      out.state = corrected;
      out.offsetX = measuredX - set.x;
      out.offsetY = measuredY - set.y;
      if (guided) {
        out.moveX = loopX.correct(out.offsetX);
        out.moveY = loopY.correct(out.offsetY);
      }
    }
    // The window stands at the set point, where the loop holds the star, as far as the correction has brought
    // it there.
    const offX = measuredX - set.x + out.moveX;
    const offY = measuredY - set.y + out.moveY;
    const isNear = Math.max(Math.abs(offX), Math.abs(offY)) <= stayPx * arcsecPerPx;
    window.column = Math.round((set.x + (isNear ? 0 : offX)) / arcsecPerPx);
    window.row = Math.round((set.y + (isNear ? 0 : offY)) / arcsecPerPx);
    return out;
  };
}
