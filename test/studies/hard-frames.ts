/**
 * How many stars of hard frames are found, and how many lights are taken for stars that are none.
 * `python3 test/independent/hard_frames.py FOLDER 200 1000 640 480 8` makes the frames, then
 * `npx tsx --conditions=@holdfast/source test/studies/hard-frames.ts FOLDER`
 */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { lightView, requireSearch } from '@holdfast/centroid/internal';
import { readFrameFile } from '@holdfast/sim';
import { searchOneSize } from '@holdfast/sim/internal';

interface Place {
  readonly x: number;
  readonly y: number;
}
interface Star extends Place {
  /** Flux over its least possible error, on the background alone. */
  readonly asked: number;
  /** The same with all that the frame holds there. */
  readonly snr: number;
  readonly diameter: number;
  readonly cut: boolean;
}
interface Truth {
  readonly file: string;
  readonly diameter: number;
  readonly fwhm: number;
  readonly stars: readonly Star[];
}
interface Tried {
  readonly star: Star;
  readonly isFound: boolean;
  readonly counts: boolean;
}

const folder = process.argv[2] ?? '.';
const { gain, level, frames } = JSON.parse(readFileSync(join(folder, 'truth.json'), 'utf8')) as {
  gain: number;
  level: number;
  frames: readonly Truth[];
};

const distance = (a: Place, b: Place): number => Math.sqrt((a.x - b.x) ** 2 + (a.y - b.y) ** 2);

/**
 * A star counts where the rest of the frame takes no more than 5 % of its SNR (a trail, a galaxy and other
 * stars add noise) and the light of no other star reaches it: two stars whose light touches are one to the
 * search.
 */
const counts = (star: Star, { fwhm, stars }: Truth): boolean =>
  star.snr >= 0.95 * star.asked &&
  stars.every((one) => one === star || distance(one, star) >= star.diameter + 2 * fwhm);

const tried: Tried[] = [];
let wrong = 0;
for (const truth of frames) {
  const frame = await readFrameFile(new Uint8Array(readFileSync(join(folder, truth.file))));
  if (!frame.ok) throw new Error(frame.message);
  const view = lightView(frame.image, undefined, level, gain);
  const { stars: found } = searchOneSize(view, requireSearch({ maxStars: 100, maxDiameterPx: 320 }));
  const near = Math.max(3, truth.diameter / 4);
  const reach = Math.max(4, truth.diameter / 2 + truth.fwhm);
  for (const star of truth.stars)
    if (!star.cut)
      tried.push({
        star,
        isFound: found.some((one) => distance(one, star) < near),
        counts: counts(star, truth),
      });
  wrong += found.filter((one) => truth.stars.every((star) => distance(star, one) > reach)).length;
}

const tell = (what: string, some: readonly Tried[]): void => {
  const count = some.filter((one) => one.isFound).length;
  console.log(`${what}: ${count} of ${some.length}, ${((100 * count) / some.length).toFixed(1)} %`);
};
const at10 = tried.filter(({ star }) => star.asked === 10);
console.log(`${frames.length} frames, ${wrong} false stars`);
const counted = at10.filter((one) => one.counts);
tell('SNR 10, counted', counted);
for (const [from, to] of [
  [0, 12],
  [12, 25],
  [25, 40],
  [40, 70],
] as const)
  tell(
    `SNR 10, counted, rings of ${from} to ${to} px`,
    counted.filter(({ star }) => star.diameter >= from && star.diameter < to),
  );
tell('SNR 10, all', at10);
tell(
  'SNR 20 and more, counted',
  tried.filter((one) => one.counts && one.star.asked >= 20),
);
tell('SNR 10 and more, all', tried);
