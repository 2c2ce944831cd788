/** Center of mass of a noisy ring in a window that follows it: what a guiding loop does to each frame. */
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { prepareCenterOfMass } from '@holdfast/centroid';
import { prepareStar, randomStream } from '@holdfast/psf';
import { type ReferenceSide, scratchFolder, startC, startPython } from '../reference-process.ts';
import type { Row } from '../row.ts';

const side = 48;
const radiusPx = 12;
const guess = { x: 23, y: 24 };
const frames = 256;

export const row: Row = {
  name: 'window-center',
  work: 'center of mass of a noisy ring in a window of radius 12 px that follows it',
  unit: 'frame',
  prepare() {
    const stack = noisyRings();
    const input = join(scratchFolder, 'window-center.bin');
    const numbers = [frames, side, radiusPx, guess.x, guess.y];
    writeFileSync(
      input,
      new Uint8Array(Float64Array.from([...numbers, ...stack.flatMap((f) => [...f])]).buffer),
    );
    const measure = prepareCenterOfMass({ width: side, height: side }, { radiusPx });
    const started: ReferenceSide[] = [];
    const kept = (start: ReferenceSide) => {
      started.push(start);
      return start;
    };
    let done = 0;
    return {
      ours: {
        run(count) {
          const begin = performance.now();
          for (let i = 0; i < count; i++, done++)
            if (!measure(stack[done % frames], guess).ok) throw new Error(`frame ${done % frames} is lost`);
          return (performance.now() - begin) / 1000;
        },
      },
      references: [
        { label: 'numpy', goal: 10, start: () => kept(startPython('window_center.py', [input])) },
        {
          label: 'C -O3',
          goal: 0.5,
          start: () => kept(startC('window-center.c', ['-O3'], ['-lm'], [input])),
        },
      ],
      agreement() {
        let worst = 0;
        for (let k = 0; k < 32; k++) {
          const found = measure(stack[k], guess);
          if (!found.ok) throw new Error(`frame ${k} is lost: ${found.reason}`);
          for (const { numbers } of started)
            worst = Math.max(worst, Math.hypot(numbers[2 * k] - found.x, numbers[2 * k + 1] - found.y));
        }
        if (!(worst < 1e-9)) throw new Error(`positions differ by ${worst} px`);
        return `positions in 32 frames differ by ${worst.toExponential(0)} px at most`;
      },
    };
  },
};

/** Rings of 16 px and 8000 electrons somewhere in the middle pixels, on sky and read noise, sky taken off. */
function noisyRings(): Float64Array[] {
  const shape = { kind: 'annulus', outerDiameterPx: 16, obstructionRatio: 0.35, blurFwhmPx: 3 } as const;
  const plan = prepareStar(shape, { width: side, height: side });
  const expected = new Float64Array(side * side);
  return Array.from({ length: frames }, (_, i) => {
    const random = randomStream('aperture', i);
    plan.renderInto(expected, guess.x + random.uniform() - 0.5, guess.y + random.uniform() - 0.5, 8000);
    return expected.map((mean) => random.poisson(mean + 4) - 4 + 1.5 * random.normal());
  });
}
