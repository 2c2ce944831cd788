/**
 * A folder into which a camera writes: the guide star of each frame as it comes, and the correction in
 * pixels.
 */
import { existsSync, readdirSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { type GuideStar, prepareGuideStar } from '@holdfast/centroid';
import { readFrameFile } from '@holdfast/sim';
import { significant } from '@holdfast/sim/internal';
import { UnusableInput } from '../reports/unusable-input.ts';
import { command } from './command-line/command.ts';
import { frameName } from './command-line/frame-names.ts';
import { number } from './command-line/option.ts';

const cautions =
  'Caution: this prints numbers and moves nothing. Before a loop of your own moves a powered mount, limit its corrections, keep ' +
  'hands and cables clear, and follow the instructions of the maker of the mount. Never point near the Sun.';

/** One frame, in pixels; the correction takes the star back to where it was on the first frame. */
interface Followed {
  readonly file: string;
  readonly ok: boolean;
  readonly reason?: string;
  readonly x?: number;
  readonly y?: number;
  readonly sigmaX?: number;
  readonly sigmaY?: number;
  readonly correctionX?: number;
  readonly correctionY?: number;
  readonly diameterPx?: number;
  readonly diameterTrendPx?: number;
}

export const follow = command({
  name: 'follow',
  question:
    'A folder into which your guide camera writes: where is the star on each frame, and what is the correction?',
  files: 'FOLDER',
  about: [
    'Follows one star through the frames (FITS, PNG, TIFF, PGM) in the order of their names. Prints for each how far the star has ' +
      'moved since the first. It is an example of prepareGuideStar for a loop of your own.',
  ],
  options: {
    window: number('PX', 'side of the square that is measured', {
      low: 5,
      high: 1000,
      isWhole: true,
      default: 31,
    }),
    readNoise: number('E', 'read noise, electrons rms', { low: 0, high: 1000, default: 3 }),
    gain: number('E', 'electrons per count, where the header does not say', {
      low: 1e-3,
      high: 1000,
      default: 1,
    }),
    offset: number('ADU', 'counts of a pixel without light', { low: 0, high: 60000, default: 0 }),
    wait: number(
      'S',
      'stop when no new frame has come for S seconds; 0: only the frames that are there now',
      {
        low: 0,
        high: 86400,
        default: 0,
      },
    ),
  },
  notes: [cautions],
  async run({ window, readNoise, gain, offset, wait }, { files, say, signal }) {
    const [folder] = files;
    if (files.length !== 1 || folder === undefined || !existsSync(folder) || !statSync(folder).isDirectory())
      throw new UnusableInput(`follow needs one folder, got ${files.join(', ') || 'none'}`);
    say([cautions, '']);
    const seen = new Set<string>();
    const all: Followed[] = [];
    let star: GuideStar | undefined;
    let origin: { readonly x: number; readonly y: number } | undefined;
    let waitedS = 0;
    while (signal?.aborted !== true) {
      const fresh = framesIn(folder).filter((file) => !seen.has(file));
      for (const file of fresh) {
        seen.add(file);
        const frame = await readFrameFile(new Uint8Array(readFileSync(join(folder, file))));
        if (!frame.ok) {
          all.push({ file, ok: false, reason: frame.message });
          say([`${file}: ${frame.message}`]);
          continue;
        }
        const [height, width] = frame.image.shape as [number, number];
        const { data } = frame.image;
        for (let k = 0; k < data.length; k++) data[k] = (data[k] - offset) * gain;
        star ??= prepareGuideStar({
          size: { width, height },
          windowPx: window,
          noise: { readNoiseE: readNoise },
        });
        const { ok, reason, x, y, sigmaX, sigmaY, diameterPx, diameterTrendPx } = star.update(frame.image);
        if (!ok) {
          all.push({ file, ok, reason: reason ?? 'not-found' });
          say([`${file}: no star (${reason}); no correction`]);
          continue;
        }
        origin ??= { x, y };
        const correctionX = origin.x - x;
        const correctionY = origin.y - y;
        all.push({ file, ok, x, y, sigmaX, sigmaY, correctionX, correctionY, diameterPx, diameterTrendPx });
        say([
          `${file}: correct by ${significant(correctionX, 3)}, ${significant(correctionY, 3)} px ` +
            `(± ${significant(sigmaX, 2)}, ${significant(sigmaY, 2)} px); star of ${significant(diameterPx, 3)} px`,
        ]);
      }
      if (fresh.length > 0) waitedS = 0;
      else if (waitedS >= wait) break;
      await new Promise((resolve) => setTimeout(resolve, wait > 0 ? 500 : 0));
      waitedS += 0.5;
    }
    const found = all.filter(({ ok }) => ok).length;
    return { data: all, text: () => ['', `${all.length} frames, the star found on ${found}.`] };
  },
});

const framesIn = (folder: string): string[] =>
  readdirSync(folder)
    .filter((name) => frameName.test(name))
    .sort();
