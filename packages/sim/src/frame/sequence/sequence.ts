/**
 * Many frames of the same stars: positions against time, what the stars do together, what each does alone,
 * and the focus.
 */
import { requireNames } from '@holdfast/psf/numerics';
import { type LongWorkOptions, longWorkNames, pause } from '../../long-work.ts';
import { type ByteSource, bytesOf } from '../files/file-bytes.ts';
import { frameFacts } from '../files/frame-facts.ts';
import { framesOfFile } from '../files/frame-file.ts';
import type { FrameFileOptions, FrameImage, FrameReadResult } from '../files/frame-image.ts';
import type { MeasureFrameOptions } from '../stars/measure-frame.ts';
import type { MeasuredStar } from '../stars/measured-star.ts';
import { StarFollower } from './follow-stars.ts';
import {
  type SequenceFailure,
  type SequenceResult,
  sequenceTold,
  type TakenFrame,
} from './sequence-result.ts';

type Given = Pick<SequenceFrame, 'timeS' | 'focuserPosition'>;

/** A frame as it lies on the disk, or a film of many. */
export interface SequenceFrame {
  /** Name, for messages and results; that of a frame of a film says its number, from 0. */
  readonly name: string;
  /** The bytes of its file. */
  readonly bytes: ByteSource;
  /**
   * When it was taken, s of any clock that all frames share. Default: the middle of the exposure by its
   * header. Of a film, when its first frame was; the others follow at its frame rate.
   */
  readonly timeS?: number;
  /** Position of the focuser, steps. Default: that of the header. */
  readonly focuserPosition?: number;
}

/** How a sequence is read and measured. */
export interface SequenceOptions extends LongWorkOptions {
  /** The camera, for all frames or by the frame. Saturation is that of the frame unless given here. */
  readonly measure: MeasureFrameOptions | ((frame: FrameImage) => MeasureFrameOptions);
  /** How each file is read. */
  readonly read?: FrameFileOptions;
  /** How many frames there are, where known: for the progress. */
  readonly total?: number;
  /** Most stars followed, the brightest of the first frame. Default 6. */
  readonly maxStars?: number;
  /**
   * How far a star may move from frame to frame before the whole frame is searched for it, px. Default 12.
   */
  readonly searchPx?: number;
  /**
   * Frames after which the rings of all stars are fitted anew, not of the brightest alone; 1 = on each.
   * Default 20.
   */
  readonly refitEvery?: number;
  /**
   * Frames are left out, by name, whose brightest star has less light than this many of its errors. Default
   * 0: none.
   */
  readonly leastSnr?: number;
}

const sequenceDefaults = { maxStars: 6, searchPx: 12, refitEvery: 20, leastSnr: 0 } as const;

/**
 * Read and measure frame after frame, all frames of a film among them. Frames are let go of as soon as they
 * are measured. One that cannot be read, or shows none of the stars, is named in `failed` and does not stop
 * the rest. Frames may come in any order when they have time stamps.
 *
 * ```ts
 * async function* folder() { for (const name of names) yield { name, bytes: await readFile(name) } }
 * const night = await measureSequence(folder(), { measure: { gainEPerAdu: 1, readNoiseE: 1.5, fNumber: 5, pixelSizeUm: 3.75 } })
 * console.log(night.split.centerOfMass?.stars[0]?.noisePx, night.focus?.umPerHour)
 * ```
 * @throws the signal's reason when canceled; RangeError or TypeError for an option out of range
 */
export async function measureSequence(
  frames: AsyncIterable<SequenceFrame> | Iterable<SequenceFrame>,
  options: SequenceOptions,
): Promise<SequenceResult> {
  const { maxStars, searchPx, refitEvery, leastSnr } = requireSequence(options);
  const { read = {}, total, onProgress, signal } = options;
  const follower = new StarFollower({ maxStars, searchPx, refitEvery });
  const taken: TakenFrame[] = [];
  const failed: SequenceFailure[] = [];
  const begun = performance.now();
  let bytes = 0;
  let sides: string | undefined;
  let done = 0;
  const secondsSince = () => (performance.now() - begun) / 1000;

  const follow = (name: string, frame: FrameReadResult, given: Given): void => {
    if (!frame.ok) {
      failed.push({ name, reason: frame.reason, message: frame.message });
      return;
    }
    const [height, width] = frame.image.shape;
    sides ??= `${width} x ${height}`;
    if (sides !== `${width} x ${height}`) {
      const message = `${width} x ${height} px, the frames before have ${sides}`;
      failed.push({ name, reason: 'other-size', message });
      return;
    }
    const found = follower.follow(frame.image, settingFor(frame, options.measure));
    if (found === undefined || found.stars.every((star) => star === undefined)) {
      failed.push({ name, reason: 'no-star', message: 'none of the stars stands out' });
      return;
    }
    const snr = brightestSnr(found.stars);
    if (snr < leastSnr) {
      const message = `its brightest star has an SNR of ${snr.toFixed(1)}, less than the ${leastSnr} asked for`;
      failed.push({ name, reason: 'too-faint', message });
      return;
    }
    const position = given.focuserPosition ?? frameFacts(frame.header).focuserPosition;
    const at = position === undefined ? {} : { focuserPosition: position };
    taken.push({ name, timeS: timeOf(frame, given.timeS), ...at, ...found });
  };
  let all = total;
  for await (const { name: file, bytes: source, ...given } of frames) {
    const content = await bytesOf(source);
    let count = 1;
    for await (const { frame, page } of framesOfFile(content, read)) {
      await pause(signal);
      if (page === 0 && frame.ok) count = frame.framesInFile ?? 1;
      if (page === 0 && all !== undefined) all += count - 1;
      bytes += content.length / count;
      const name = page === undefined ? file : `${file}, frame ${page}`;
      follow(name, frame, given);
      done++;
      const task = `${name}, ${(bytes / 1e6 / secondsSince()).toFixed(1)} MB/s`;
      const most = Math.max(done, all ?? done);
      onProgress?.({ task, done, total: most, secondsLeft: (secondsSince() / done) * (most - done) });
    }
  }
  const seconds = secondsSince();
  return {
    ...sequenceTold(taken),
    failed,
    bytes,
    seconds,
    megabytesPerS: bytes / 1e6 / Math.max(seconds, 1e-9),
  };
}

function requireSequence(options: SequenceOptions) {
  const { maxStars, searchPx, refitEvery, leastSnr } = {
    ...sequenceDefaults,
    ...requireNames(
      'options',
      options,
      longWorkNames,
      'measure read total maxStars searchPx refitEvery leastSnr',
    ),
  };
  for (const [name, value] of [
    ['maxStars', maxStars],
    ['refitEvery', refitEvery],
  ] as const)
    if (!(Number.isInteger(value) && value >= 1))
      throw new RangeError(`${name} must be a whole number >= 1, got ${value}`);
  if (!(searchPx >= 1 && searchPx < Infinity))
    throw new RangeError(`searchPx must be a finite number >= 1, got ${searchPx}`);
  if (!(leastSnr >= 0 && leastSnr < Infinity))
    throw new RangeError(`leastSnr must be a finite number >= 0, got ${leastSnr}`);
  return { maxStars, searchPx, refitEvery, leastSnr };
}

const brightestSnr = (stars: readonly (MeasuredStar | undefined)[]): number =>
  Math.max(
    0,
    ...stars.map((star) => (star?.light ? star.light.fluxE.value / star.light.fluxE.standardError : 0)),
  );

function settingFor(frame: FrameImage, measure: SequenceOptions['measure']): MeasureFrameOptions {
  const given = typeof measure === 'function' ? measure(frame) : measure;
  return frame.saturationAdu === undefined ? given : { saturationAdu: frame.saturationAdu, ...given };
}

/** Of a frame of a film: by its frame rate, since the header is that of all its frames. */
function timeOf(frame: FrameImage, given: number | undefined): number | undefined {
  if (frame.framesInFile !== undefined)
    return frame.sinceFirstS === undefined ? undefined : (given ?? 0) + frame.sinceFirstS;
  const { startMs, exposureS = 0 } = frameFacts(frame.header);
  return given ?? (startMs === undefined ? undefined : startMs / 1000 + exposureS / 2);
}
