/**
 * The stars of a whole frame, points, rings and comets of unknown size, among hot pixels and on a slope.
 *
 * The reference smooths by Gaussians at four scales, as is usual, or by boxes, which scipy has in a time that
 * does not grow with their size. Both sides must find every star of the frame; the sides' boxes reach 80 px
 * (ours) and 31 px (reference).
 *
 * Where our time goes (engine's samples): a sixth each in the contrasts of ten box sides (6 million, eight
 * look-ups each, compiled) and in taking the frame, its noise and hot pixels; a tenth in the table of sums; a
 * third in following the light of each star outward, which the reference does not do.
 */
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { locateStar } from '@holdfast/centroid';
import { createImage, type Image, randomStream, renderStar, type StarShape } from '@holdfast/psf';
import { type ReferenceSide, scratchFolder, startPython } from '../reference-process.ts';
import type { Row } from '../row.ts';

const width = 2000;
const height = 1500;
const columns = 17;
const rows = 12;
const maxStars = 300;

interface Placed {
  readonly x: number;
  readonly y: number;
  /** How far off a center of mass may be, px: a comet's lies away from its head. */
  readonly tolerancePx: number;
}

export const row: Row = {
  name: 'locate-star',
  work: `${columns * rows} stars of unknown size found and measured in a frame of ${width} x ${height} px`,
  unit: 'frame',
  sliceS: 0.5,
  repeats: 9,
  prepare() {
    const { image, stars } = starField();
    const path = join(scratchFolder, 'locate-star.bin');
    const numbers = Float64Array.from([width, height, maxStars, ...image.data]);
    writeFileSync(path, new Uint8Array(numbers.buffer));
    const references: ReferenceSide[] = [];
    const start = (smoothing: string) => () => {
      const side = startPython('locate_star.py', [smoothing, path]);
      references.push(side);
      return side;
    };
    let found: readonly { readonly x: number; readonly y: number }[] = [];
    return {
      ours: {
        run(count) {
          const begin = performance.now();
          for (let i = 0; i < count; i++) found = locateStar(image, { maxStars });
          return (performance.now() - begin) / 1000;
        },
      },
      references: [
        { label: 'scipy.ndimage, Gaussians', goal: 2, start: start('gaussians') },
        { label: 'scipy.ndimage, boxes', goal: 2, start: start('boxes') },
      ],
      agreement() {
        const lists = [found, ...references.map((side) => pairs(side.numbers))];
        for (const list of lists) requireAll(stars, list);
        return `stars found of ${stars.length}: ours ${found.length}, reference ${lists.slice(1).map((list) => list.length)}`;
      },
    };
  },
};

function pairs(numbers: readonly number[]): { x: number; y: number }[] {
  return Array.from({ length: numbers.length / 2 }, (_, k) => ({ x: numbers[2 * k], y: numbers[2 * k + 1] }));
}

/** Every star once, and no more than a hundredth besides. */
function requireAll(
  stars: readonly Placed[],
  found: readonly { readonly x: number; readonly y: number }[],
): void {
  for (const star of stars)
    if (!found.some(({ x, y }) => Math.hypot(x - star.x, y - star.y) < star.tolerancePx))
      throw new Error(`no star is found at ${star.x.toFixed(1)}, ${star.y.toFixed(1)}`);
  if (found.length > 1.02 * stars.length)
    throw new Error(`${found.length} stars are found of ${stars.length}`);
}

/**
 * Two fifths points, two fifths rings, one fifth comets, one in each cell of a grid, at a place drawn at
 * random.
 */
function starField(): { readonly image: Image; readonly stars: readonly Placed[] } {
  const image = createImage(width, height);
  const { data } = image;
  const random = randomStream('bench', 'locate-star');
  const stars: Placed[] = [];
  const side = 128;
  for (let n = 0; n < columns * rows; n++) {
    const x = ((n % columns) + 0.5) * (width / columns) + 40 * (random.uniform() - 0.5);
    const y = (Math.floor(n / columns) + 0.5) * (height / rows) + 40 * (random.uniform() - 0.5);
    const left = Math.floor(x) - side / 2;
    const top = Math.floor(y) - side / 2;
    const { shape, flux, tolerancePx } = drawStar(n, random.uniform(), random.uniform(), random.uniform());
    stars.push({ x, y, tolerancePx });
    const stamp = renderStar(shape, { width: side, height: side, x: x - left, y: y - top, flux });
    for (let j = Math.max(0, -top); j < Math.min(side, height - top); j++)
      for (let i = Math.max(0, -left); i < Math.min(side, width - left); i++)
        data[(top + j) * width + left + i] += stamp.data[j * side + i];
  }
  for (let k = 0; k < data.length; k++) {
    const background = 50 + 0.02 * (k % width) + 0.01 * Math.floor(k / width);
    data[k] = random.poisson(data[k] + background) + 3 * random.normal();
  }
  for (let i = 0; i < 400; i++)
    data[Math.floor(random.uniform() * data.length)] += 200 + 3000 * random.uniform();
  return { image, stars };
}

function drawStar(
  n: number,
  brightness: number,
  size: number,
  angle: number,
): { readonly shape: StarShape; readonly flux: number; readonly tolerancePx: number } {
  const flux = 3000 * 20 ** brightness;
  const kind = n % 5;
  if (kind < 2) return { shape: { kind: 'gaussian', fwhmPx: 2.5 + 2 * size }, flux, tolerancePx: 2 };
  if (kind < 4) {
    const outerDiameterPx = 8 + 40 * size * size;
    return {
      shape: { kind: 'annulus', outerDiameterPx, obstructionRatio: 0.35, blurFwhmPx: 3 },
      flux: 4 * flux,
      tolerancePx: 2 + outerDiameterPx / 8,
    };
  }
  const sagittalComaPx = 3 + 5 * size;
  return {
    shape: {
      kind: 'coma',
      sagittalComaPx,
      angleDeg: 360 * angle,
      obstructionRatio: 0.3,
      blurFwhmPx: 2.5,
    },
    flux,
    tolerancePx: 2 * sagittalComaPx,
  };
}
