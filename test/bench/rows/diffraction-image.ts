/**
 * A diffraction image from a new wavefront: everything from the pupil to the pixels of the stamp.
 *
 * Both sides pad a pupil of 256 x 256 cells to 512 x 512, and use the same seeing, pixels and resampling. The
 * reference is given the pupil's open cells ready made, while ours works them out. 'tables kept' also keeps
 * what does not depend on the wavefront (window, seeing, pixels), as a program for one telescope would. Ours
 * keeps the seeing and works the rest out for each image; the first reference keeps nothing. The wave is the
 * same above and below the middle of the pupil: ours works out one half, the reference both.
 */
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { type DiffractionShape, prepareStar } from '@holdfast/psf';
import { pupilGrid } from '@holdfast/psf/internal';
import { type ReferenceSide, scratchFolder, startPython } from '../reference-process.ts';
import type { Row } from '../row.ts';

export const stamp = { width: 96, height: 80, x: 47.3, y: 39.8 };

const samples = 256;
const obstructionRatio = 0.35;
const comaNm = 400;
export const focusShiftUm = 300;

/** 256 lambda F are 256 px of 2.75 um: 256 cells across the pupil. */
export const shapeAt = (shiftUm: number) =>
  ({
    kind: 'diffraction',
    pupil: { obstructionRatio },
    wavefront: { focusShiftUm: shiftUm, seidelNm: { coma: comaNm } },
    fNumber: 5,
    wavelengthNm: 550,
    pixelSizeUm: 2.75,
    seeing: { fwhmArcsec: 2.5, apertureMm: 200, wavelengthNm: 550 },
    accuracy: { minPupilSamples: samples },
  }) as const satisfies DiffractionShape;

export const row: Row = {
  name: 'diffraction-image',
  work: 'diffraction image of a new wavefront, 256 x 256 pupil, on 96 x 80 px',
  unit: 'image',
  prepare() {
    const input = writeInput();
    const pixels = new Float64Array(stamp.width * stamp.height);
    let done = 0;
    const references: ReferenceSide[] = [];
    const start = (mode: string) => () => {
      const side = startPython('diffraction.py', [mode, input]);
      references.push(side);
      return side;
    };
    return {
      ours: {
        run(count) {
          const begin = performance.now();
          for (let i = 0; i < count; i++) {
            const plan = prepareStar(shapeAt(focusShiftUm + 0.01 * (done++ % 1000)), stamp);
            plan.renderInto(pixels, stamp.x, stamp.y, 1e4);
          }
          return (performance.now() - begin) / 1000;
        },
      },
      references: [
        { label: 'numpy and scipy.fft', goal: 0.8, start: start('anew') },
        { label: 'numpy and scipy.fft, tables kept', goal: 1, start: start('kept') },
      ],
      agreement: () => sameImage(references),
    };
  },
};

/** Largest difference between our image and each reference's, over the brightest pixel. */
export function sameImage(
  references: readonly ReferenceSide[],
  shape: DiffractionShape = shapeAt(focusShiftUm),
): string {
  const pixels = new Float64Array(stamp.width * stamp.height);
  prepareStar(shape, stamp).renderInto(pixels, stamp.x, stamp.y, 1e4);
  const peak = Math.max(...pixels);
  const largest = references.map(({ numbers }) =>
    Math.max(...numbers.map((value, k) => Math.abs(value - pixels[97 * k]) / peak)),
  );
  // The reference takes the phase in a cell that an edge crosses as that of its middle.
  const worst = Math.max(...largest);
  if (!(worst < 1e-3)) throw new Error(`images differ by ${worst} of the brightest pixel`);
  return `images differ by ${worst.toExponential(1)} of the brightest pixel`;
}

export function writeInput(): string {
  const { fNumber, wavelengthNm, pixelSizeUm, seeing } = shapeAt(0);
  const head = [
    ...[samples, samples, wavelengthNm, fNumber, pixelSizeUm, seeing.apertureMm, seeing.fwhmArcsec, comaNm],
    ...[stamp.width, stamp.height, stamp.x, stamp.y, focusShiftUm],
  ];
  const path = join(scratchFolder, 'diffraction.bin');
  const open = pupilGrid({ obstructionRatio }, samples);
  writeFileSync(path, new Uint8Array(Float64Array.from([...head, ...open]).buffer));
  return path;
}
