/** What the terminal report, the JSON output and the page are all made from. */
import type { RefocusAdvice, Rig, SweepRow } from '@holdfast/sim';

/** One guide frame of the star, as the camera sees it, and where each way of measuring puts it. */
export interface StarPicture {
  readonly focusShiftUm: number;
  readonly outerDiameterPx: number;
  readonly snr: number;
  readonly width: number;
  readonly height: number;
  /** Electrons, background taken off, row by row. */
  readonly pixels: readonly number[];
  readonly trueX: number;
  readonly trueY: number;
  readonly measured: readonly {
    readonly estimator: string;
    readonly x?: number;
    readonly y?: number;
    readonly reason?: string;
  }[];
}

export interface Report {
  readonly version: string;
  readonly rig: Rig;
  readonly advice: RefocusAdvice;
  /** Error against the distance from focus, every estimator: the ring is the same on both sides. */
  readonly curve: readonly SweepRow[];
  readonly stars: readonly StarPicture[];
}
