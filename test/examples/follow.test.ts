/** A folder of frames followed: the correction takes the star back, and a cloud is told. */
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { exposeFrame, randomStream, renderStar } from '@holdfast/psf';
import { writeFits } from '@holdfast/sim';
import { expect, test } from 'vitest';
import { answerHere, freshFolder, runExample } from './run-example.ts';

const size = { width: 96, height: 80 };
const ring = { kind: 'annulus', outerDiameterPx: 10, obstructionRatio: 0.3, blurFwhmPx: 2.5 } as const;
const camera = { readNoiseE: 2, gainEPerAdu: 1, offsetAdu: 200, bitDepth: 16, fullWellE: 60_000 };

test('each frame gives the way back to the first place; a frame without the star gives none', async () => {
  const folder = freshFolder();
  const places = [40, 41.5, 42.5, undefined, 43];
  places.forEach((x, k) => {
    const star = renderStar(ring, { ...size, x: x ?? 40, y: 30, flux: x === undefined ? 0 : 40_000 });
    const frame = exposeFrame(star, camera, randomStream('follow', k));
    for (let i = 0; i < frame.data.length; i++) frame.data[i] = Math.max(0, frame.data[i]! + 200);
    writeFileSync(join(folder, `frame-${k}.fits`), writeFits(frame, { bitpix: 16 }));
  });
  writeFileSync(join(folder, 'frame-9.fits'), 'no frame');
  const run = runExample('follow', [folder, '--offset', '200', '--read-noise', '2', '--json']);
  expect(run).toMatchObject({ status: 0, stderr: '' });
  const frames = JSON.parse(run.stdout) as {
    ok: boolean;
    correctionX: number;
    sigmaX: number;
    reason: string;
  }[];
  expect(frames.map(({ ok }) => ok)).toEqual([true, true, true, false, true, false]);
  for (const [k, x] of places.entries())
    if (x !== undefined) {
      const { correctionX, sigmaX } = frames[k]!;
      expect(sigmaX).toBeLessThan(0.1);
      // 5 sigma of two frames, and what the model of the window leaves.
      expect(Math.abs(correctionX - (40 - x))).toBeLessThan(5 * Math.SQRT2 * sigmaX + 0.02);
    }
  const { text: said } = await answerHere('follow', [folder, '--offset', '200', '--read-noise', '2']);
  expect(said).toMatch(/^Caution: this prints numbers and moves nothing/);
  expect(said).toMatch(/frame-1\.fits: correct by -1\.\d+, /);
  expect(said).toMatch(/frame-3\.fits: no star \([a-z-]+\); no correction/);
});
