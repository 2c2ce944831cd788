/**
 * Frames with all that a bad night has, by the numpy program beside this file, which shares no code:
 * `python3 test/independent/hard_frames.py FOLDER 12 77 400 300 6`, of which numbers 4 and 7 stand in the
 * folder `hard-frames`. Their SNR counts the noise of a disc half a blur wider than the ring, as the program
 * did before it took that of the least possible error.
 */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { type FrameImage, readFrameFile, surveyFrame } from '@holdfast/sim';
import { describe, expect, test } from 'vitest';

interface Truth {
  readonly file: string;
  readonly diameter: number;
  readonly fwhm: number;
  readonly stars: readonly { x: number; y: number; snr: number; cut: boolean }[];
}

const folder = join(import.meta.dirname, 'hard-frames');
const { gain, read, level, frames } = JSON.parse(readFileSync(join(folder, 'truth.json'), 'utf8')) as {
  gain: number;
  read: number;
  level: number;
  frames: readonly Truth[];
};
const camera = { gainEPerAdu: gain, offsetAdu: level, readNoiseE: read };

async function frameOf({ file }: Truth): Promise<FrameImage> {
  const frame = await readFrameFile(new Uint8Array(readFileSync(join(folder, `${file}.gz`))));
  if (!frame.ok) throw new Error(frame.message);
  return frame;
}

describe.each(frames)(
  '$file: rings of $diameter px, a satellite trail, a galaxy or a cut star, hot pixels',
  (truth) => {
    const reach = Math.max(4, truth.diameter / 2 + truth.fwhm);
    const far = (a: { x: number; y: number }, b: { x: number; y: number }): number =>
      Math.sqrt((a.x - b.x) ** 2 + (a.y - b.y) ** 2);

    test('every star of SNR 12 or more is found, and nothing that is no star', async () => {
      const { stars, rejected } = surveyFrame((await frameOf(truth)).image, camera);
      for (const star of truth.stars) {
        if (star.snr < 12 || star.cut) continue;
        expect(Math.min(...stars.map(({ found }) => far(found, star)))).toBeLessThan(
          Math.max(3, truth.diameter / 4),
        );
      }
      for (const { found } of stars)
        expect(Math.min(...truth.stars.map((star) => far(found, star)))).toBeLessThan(reach);
      // double hot pixels stand out far more than the faint stars do: they are filled as single ones are
      expect(rejected.filter(({ reason }) => reason === 'smaller').length).toBeLessThanOrEqual(1);
    });

    test('sizes are those of the rings, within 6 % of field curvature and their errors', async () => {
      const { stars } = surveyFrame((await frameOf(truth)).image, camera);
      const rings = stars.flatMap(({ ring }) => (ring.ok ? [ring] : []));
      expect(rings.length).toBeGreaterThanOrEqual(1);
      for (const { outerDiameterPx } of rings)
        expect(Math.abs(outerDiameterPx.value - truth.diameter)).toBeLessThan(
          0.06 * truth.diameter + 4 * outerDiameterPx.standardError,
        );
    });
  },
);

test('without time for more, the brightest are measured and the others named; progress is told, and it can be canceled', async () => {
  const { image } = await frameOf(frames[0]!);
  const told: number[] = [];
  const { stars, unmeasured } = surveyFrame(image, {
    ...camera,
    timeBudgetS: 1e-9,
    onProgress: ({ done }) => told.push(done),
  });
  expect(stars.length).toBeLessThanOrEqual(1);
  expect(unmeasured.length).toBeGreaterThanOrEqual(4);
  surveyFrame(image, { ...camera, onProgress: ({ done }) => told.push(done) });
  expect(told.length).toBeGreaterThanOrEqual(4);
  const stop = new AbortController();
  const run = () =>
    surveyFrame(image, { ...camera, signal: stop.signal, onProgress: () => stop.abort(new Error('enough')) });
  expect(run).toThrow('enough');
});
