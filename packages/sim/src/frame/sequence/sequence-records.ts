/** What is kept of each frame of a sequence. */
import type { Estimate } from '../../trials/statistics.ts';

/** One measured position, px of the frame. */
export interface TrackPoint {
  /** Place of its frame in `frames`. */
  readonly frame: number;
  /** Column, px. */
  readonly x: number;
  /** Row, px. */
  readonly y: number;
  /** 1 sigma error of x, px. */
  readonly sigmaX: number;
  /** 1 sigma error of y, px. */
  readonly sigmaY: number;
}

/** What is kept of one frame. */
export interface SequenceFrameRecord {
  /** Name as given. */
  readonly name: string;
  /** Seconds since the first frame, or the frame's number where times are not known. */
  readonly time: number;
  /** How many of the sequence's stars it shows. */
  readonly starsSeen: number;
  /** The stars were not where they had been: the whole frame was searched. */
  readonly searched: boolean;
  /**
   * Light of its stars over that of the median frame, by the light of each star and its stated error: below 1
   * behind clouds.
   */
  readonly transparency?: Estimate;
  /** Of the brightest star seen. */
  readonly halfFluxDiameterPx?: Estimate;
  /** Outer diameter of the ring, px. */
  readonly ringDiameterPx?: Estimate;
  /** Where its hole is resolved. */
  readonly obstructionRatio?: Estimate;
  /** Size of the focus shift by the ring, um; its side is not known. */
  readonly absFocusShiftUm?: Estimate;
  /** As given with the frame, else FOCUSPOS of its header. */
  readonly focuserPosition?: number;
}
