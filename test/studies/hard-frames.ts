/**
 * How many stars of hard frames are found, and how many lights are taken for stars that are none.
 * `python3 test/independent/hard_frames.py FOLDER 200 1000 640 480 8` makes the frames, then
 * `npx tsx --conditions=@holdfast/source test/studies/hard-frames.ts FOLDER`
 */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { locateStar } from '@holdfast/centroid';
import { createImage } from '@holdfast/psf';
import { imageHeight, imagePixels, imageWidth } from '@holdfast/psf/internal';
import { readFrameFile } from '@holdfast/sim';

interface Place {
  readonly x: number;
  readonly y: number;
}
interface Star extends Place {
  readonly snr: number;
  readonly diameter: number;
  readonly cut: boolean;
}
interface Truth {
  readonly file: string;
  readonly diameter: number;
  readonly fwhm: number;
  readonly stars: readonly Star[];
  readonly galaxy: null | (Place & { readonly scale: number });
  readonly trail: null | (Place & { readonly angle: number; readonly sigma: number });
}
interface Tried {
  readonly star: Star;
  readonly isFound: boolean;
  readonly isAlone: boolean;
}

const folder = process.argv[2] ?? '.';
const { gain, level, frames } = JSON.parse(readFileSync(join(folder, 'truth.json'), 'utf8')) as {
  gain: number;
  level: number;
  frames: readonly Truth[];
};

const distance = (a: Place, b: Place): number => Math.sqrt((a.x - b.x) ** 2 + (a.y - b.y) ** 2);

/** Whether no other star, trail or galaxy lies on a star: with those on it, its SNR is not what is stated. */
function isAlone(star: Star, { fwhm, stars, trail, galaxy }: Truth): boolean {
  const radius = star.diameter / 2;
  const offTrail =
    trail === null
      ? Infinity
      : Math.abs((star.x - trail.x) * Math.sin(trail.angle) - (star.y - trail.y) * Math.cos(trail.angle)) -
        3 * trail.sigma;
  const offGalaxy = galaxy === null ? Infinity : distance(star, galaxy) - 4 * galaxy.scale;
  const nearest = Math.min(...stars.filter((one) => one !== star).map((one) => distance(one, star)));
  return nearest > 3 * radius + 2 * fwhm && offTrail > radius && offGalaxy > radius;
}

const tried: Tried[] = [];
let wrong = 0;
for (const truth of frames) {
  const frame = await readFrameFile(new Uint8Array(readFileSync(join(folder, truth.file))));
  if (!frame.ok) throw new Error(frame.message);
  const width = imageWidth(frame.image);
  const height = imageHeight(frame.image);
  const electrons = Float64Array.from(imagePixels(frame.image), (adu) => (adu - level) * gain);
  const found = locateStar(createImage(width, height, electrons), {
    oneSize: true,
    maxStars: 100,
    maxDiameterPx: 320,
  });
  const near = Math.max(3, truth.diameter / 4);
  const reach = Math.max(4, truth.diameter / 2 + truth.fwhm);
  for (const star of truth.stars)
    if (!star.cut)
      tried.push({
        star,
        isFound: found.some((one) => distance(one, star) < near),
        isAlone: isAlone(star, truth),
      });
  wrong += found.filter((one) => truth.stars.every((star) => distance(star, one) > reach)).length;
}

const tell = (what: string, some: readonly Tried[]): void => {
  const count = some.filter((one) => one.isFound).length;
  console.log(`${what}: ${count} of ${some.length}, ${((100 * count) / some.length).toFixed(1)} %`);
};
const at10 = tried.filter(({ star }) => star.snr === 10);
console.log(`${frames.length} frames, ${wrong} false stars`);
tell(
  'SNR 10, nothing else on them',
  at10.filter((one) => one.isAlone),
);
tell('SNR 10, all', at10);
tell(
  'SNR 10, rings below 40 px, nothing else on them',
  at10.filter((one) => one.isAlone && one.star.diameter < 40),
);
tell(
  'SNR 20 and more, nothing else on them',
  tried.filter((one) => one.isAlone && one.star.snr >= 20),
);
tell('SNR 10 and more, all', tried);
