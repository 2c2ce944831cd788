/** What is kept of each frame of a sequence. */
import type { Estimate } from '../../trials/statistics.ts';

/** One measured position, px of the frame. */
export interface TrackPoint {
  /** Place of its frame in `frames`. */
  readonly frame: number;
  readonly x: number;
  readonly y: number;
  readonly sigmaX: number;
  readonly sigmaY: number;
}

export interface SequenceFrameRecord {
  readonly name: string;
  /** Seconds since the first frame, or the frame's number where times are not known. */
  readonly time: number;
  readonly starsSeen: number;
  /** The stars were not where they had been: the whole frame was searched. */
  readonly searched: boolean;
  /** Of the brightest star seen. */
  readonly halfFluxDiameterPx?: Estimate;
  readonly ringDiameterPx?: Estimate;
  /** Where its hole is resolved. */
  readonly obstructionRatio?: Estimate;
  readonly absFocusShiftUm?: Estimate;
  /** As given with the frame, else FOCUSPOS of its header. */
  readonly focuserPosition?: number;
}
