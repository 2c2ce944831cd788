/** A diffraction image made ready once, drawn at a new place: what each frame of a simulation repeats. */
import { prepareStar } from '@holdfast/psf';
import type { ReferenceSide } from '../reference-process.ts';
import { startPython } from '../reference-process.ts';
import type { Row } from '../row.ts';
import { focusShiftUm, sameImage, shapeAt, stamp, writeInput } from './diffraction-image.ts';

export const row: Row = {
  name: 'diffraction-render',
  work: 'diffraction image made ready, drawn at a new place on 96 x 80 px',
  unit: 'image',
  prepare() {
    const input = writeInput();
    const plan = prepareStar(shapeAt(focusShiftUm), stamp);
    const pixels = new Float64Array(stamp.width * stamp.height);
    let done = 0;
    const references: ReferenceSide[] = [];
    return {
      ours: {
        run(count) {
          const begin = performance.now();
          for (let i = 0; i < count; i++)
            plan.renderInto(pixels, stamp.x + 0.01 * (done++ % 50), stamp.y, 1e4);
          return (performance.now() - begin) / 1000;
        },
      },
      references: [
        {
          label: 'numpy and scipy.fft',
          start() {
            const side = startPython('diffraction.py', ['render', input]);
            references.push(side);
            return side;
          },
        },
      ],
      agreement: () => sameImage(references),
    };
  },
};
