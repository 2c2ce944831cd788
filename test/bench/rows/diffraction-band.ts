/**
 * A diffraction image in three colors from a new wavefront. The colors are chosen so that 320, 256 and 200
 * cells of the pupil lie on one grid of the image; each side pads them as it likes.
 */
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { type DiffractionShape, prepareStar } from '@holdfast/psf';
import { pupilGrid } from '@holdfast/psf/internal';
import { type ReferenceSide, scratchFolder, startPython } from '../reference-process.ts';
import type { Row } from '../row.ts';
import { focusShiftUm, sameImage, shapeAt, stamp } from './diffraction-image.ts';

const band = [
  { wavelengthNm: 440, weight: 0.3, samples: 320 },
  { wavelengthNm: 550, weight: 0.45, samples: 256 },
  { wavelengthNm: 704, weight: 0.25, samples: 200 },
];

const colorsAt = (shiftUm: number): DiffractionShape => ({
  ...shapeAt(shiftUm),
  wavelengthNm: band.map(({ wavelengthNm, weight }) => ({ wavelengthNm, weight })),
  accuracy: { minPupilSamples: 200 },
});

export const row: Row = {
  name: 'diffraction-band',
  work: 'diffraction image of a new wavefront in three colors, on 96 x 80 px',
  unit: 'image',
  prepare() {
    const input = writeBand();
    const pixels = new Float64Array(stamp.width * stamp.height);
    let done = 0;
    const references: ReferenceSide[] = [];
    const start = (mode: string) => () => {
      const side = startPython('diffraction_band.py', [mode, input]);
      references.push(side);
      return side;
    };
    return {
      ours: {
        run(count) {
          const begin = performance.now();
          for (let i = 0; i < count; i++) {
            const plan = prepareStar(colorsAt(focusShiftUm + 0.01 * (done++ % 1000)), stamp);
            plan.renderInto(pixels, stamp.x, stamp.y, 1e4);
          }
          return (performance.now() - begin) / 1000;
        },
      },
      references: [
        { label: 'numpy and scipy.fft', goal: 0.8, start: start('anew') },
        { label: 'numpy and scipy.fft, tables kept', goal: 1, start: start('kept') },
      ],
      agreement: () => sameImage(references, colorsAt(focusShiftUm)),
    };
  },
};

function writeBand(): string {
  const { pupil, fNumber, pixelSizeUm, seeing, wavefront } = shapeAt(0);
  const head = [
    ...[band.length, 256, fNumber, pixelSizeUm, seeing.apertureMm, seeing.fwhmArcsec, seeing.wavelengthNm],
    ...[wavefront.seidelNm.coma, stamp.width, stamp.height, stamp.x, stamp.y, focusShiftUm],
  ];
  const colors = band.flatMap(({ wavelengthNm, weight, samples }) => [
    ...[wavelengthNm, weight, samples],
    ...pupilGrid(pupil, samples),
  ]);
  const path = join(scratchFolder, 'diffraction-band.bin');
  writeFileSync(path, new Uint8Array(Float64Array.from([...head, ...colors]).buffer));
  return path;
}
