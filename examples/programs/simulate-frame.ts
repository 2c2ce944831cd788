/**
 * Guide frames of a rig as its camera would write them: FITS files whose truth is known, to try everything
 * on.
 */
import { mkdirSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { createImage, exposeFrame, type Image, prepareStar, randomStream } from '@holdfast/psf';
import { buildScene, frameToFits, type Rig, type Scene } from '@holdfast/sim';
import { significant } from '@holdfast/sim/internal';
import { textTable } from '../reports/text-table.ts';
import { UnusableInput, withUserNumbers } from '../reports/unusable-input.ts';
import { command } from './command-line/command.ts';
import { number, sides, text, type Values } from './command-line/option.ts';
import { rig, seed } from './command-line/shared-options.ts';
import { writeSafely } from './command-line/write-safely.ts';

const options = {
  rig,
  shift: number('UM', 'defocus of the guide sensor, µm', { default: 0 }),
  frames: number(
    'N',
    'number of frames, 1 to 10000. Several go into the folder --out, and their stars move from frame to frame by the ' +
      'tracking errors of the rig',
    { isWhole: true, low: 1, high: 10_000, default: 1 },
  ),
  step: number(
    'UM',
    'change of the defocus from frame to frame, µm: a focus run; the header then has HFFOCUS',
    {
      default: 0,
    },
  ),
  stars: number('N', 'the guide star and fainter ones about it, 1 to 50', {
    isWhole: true,
    low: 1,
    high: 50,
    default: 1,
  }),
  magnitude: number('V', 'of the guide star', { otherwise: "the rig's" }),
  exposure: number('S', 'exposure, s', { otherwise: "the rig's" }),
  size: sides('WxH', 'pixels of the frame', { isWhole: true, otherwise: "the rig's sensor" }),
  out: text('PATH', 'file, or folder for several', { otherwise: 'frame.fits, or frames' }),
  seed,
};

type Options = Values<typeof options>;

export const simulateFrame = command({
  name: 'simulate-frame',
  question:
    'Simulated guide frames of a rig, as FITS files: 16 bits, with a full header that says what is in them.',
  options,
  async run(asked) {
    const made = withUserNumbers(() => writeFrames(asked));
    return { data: made, text: () => [tableOf(made)] };
  },
});

/**
 * Scenes are paraxial; the rays of a real cone, D = 2 dz tan(asin(1 / 2F)), make a ring that is a little
 * larger.
 */
function coneFactor({ telescope: { apertureMm, focalLengthMm } }: Rig): number {
  const fNumber = focalLengthMm / apertureMm;
  return (2 * fNumber) / Math.sqrt(4 * fNumber * fNumber - 1);
}

/** New Year 2024, and what a camera takes from one exposure to the next. */
const firstMs = Date.UTC(2024, 0, 1);
const pauseS = 0.5;
/** Where the focuser stands at focus. */
const focusPosition = 10_000;

interface TrueStar {
  readonly x: number;
  readonly y: number;
  readonly fluxE: number;
}

interface TrueFrame {
  readonly file: string;
  readonly focusShiftUm: number;
  readonly ringDiameterPx: number;
  readonly stars: readonly TrueStar[];
}

function writeFrames(asked: Options): TrueFrame[] {
  const { rig, frames, out = frames > 1 ? 'frames' : 'frame.fits', shift, step, seed, size } = asked;
  const { binning, widthPx, heightPx } = rig.guideCamera;
  const [width, height] = size ?? [Math.floor(widthPx / binning), Math.floor(heightPx / binning)];
  makeFolder(frames > 1 ? out : dirname(out));
  const field = fieldOf(asked, width, height);
  return Array.from({ length: frames }, (_, n) => {
    const focusShiftUm = shift + n * step;
    const scene = buildScene(rig, {
      focusShiftUm: focusShiftUm * coneFactor(rig),
      ...(asked.magnitude === undefined ? {} : { magnitude: asked.magnitude }),
      ...(asked.exposure === undefined ? {} : { exposureS: asked.exposure }),
    });
    if (Math.min(width, height) < scene.width)
      throw new RangeError(
        `size must be at least ${scene.width} px per side for this star, got ${width}x${height}`,
      );
    const moved = motionOf(scene, asked, n);
    const stars = field.map(({ x, y, share }) => ({
      x: x + moved.x,
      y: y + moved.y,
      fluxE: scene.fluxE * share,
    }));
    const camera = { ...scene.camera, exposureS: scene.exposureS };
    const frame = exposeFrame(lightOf(scene, stars, width, height), camera, randomStream(seed, 'frame', n));
    const file = frames > 1 ? join(out, `frame-${String(n + 1).padStart(4, '0')}.fits`) : out;
    const bytes = frameToFits(frame, camera, {
      startMs: firstMs + n * (scene.exposureS + pauseS) * 1000,
      binning: scene.binning,
      pixelSizeUm: scene.pixelSizeUm * scene.binning,
      focalLengthMm: rig.telescope.focalLengthMm,
      apertureMm: rig.telescope.apertureMm,
      obstructionRatio: rig.telescope.obstructionRatio,
      telescope: ascii(rig.name),
      ...(step !== 0 && rig.focuser !== undefined
        ? {
            focuserPosition: focusPosition + Math.round((1000 * focusShiftUm) / rig.focuser.umPerStep) / 1000,
          }
        : {}),
      history: [
        `seed ${ascii(seed)}, frame ${n}; focus shift ${significant(focusShiftUm, 5)} um: a ring of ${significant(scene.outerDiameterPx, 4)} px`,
        ...stars.map(
          (star, k) =>
            `star ${k + 1}: FITS pixel ${(star.x + 1).toFixed(3)}, ${(star.y + 1).toFixed(3)}; ${star.fluxE.toFixed(0)} electrons`,
        ),
        `sky and dark ${significant(scene.backgroundE, 4)} electrons per pixel`,
      ],
    });
    writeSafely(file, bytes);
    return { file, focusShiftUm, ringDiameterPx: scene.outerDiameterPx, stars };
  });
}

function makeFolder(path: string): void {
  try {
    mkdirSync(path, { recursive: true });
  } catch (error) {
    throw new UnusableInput(`cannot write to ${path}: ${(error as Error).message}`);
  }
}

/** The guide star off the middle, others of half to a tenth of its light anywhere within the frame. */
function fieldOf({ stars, seed }: Options, width: number, height: number) {
  const random = randomStream(seed, 'field');
  return Array.from({ length: stars }, (_, k) =>
    k === 0
      ? { x: 0.48 * width + 0.3, y: 0.53 * height - 0.2, share: 1 }
      : {
          x: width * (0.15 + 0.7 * random.uniform()),
          y: height * (0.15 + 0.7 * random.uniform()),
          share: 0.1 + 0.5 * random.uniform(),
        },
  );
}

/** What the mount leaves, anew on each frame; a single frame stands still. */
function motionOf(scene: Scene, { rig, frames, seed }: Options, n: number): { x: number; y: number } {
  if (frames === 1) return { x: 0, y: 0 };
  const random = randomStream(seed, 'motion', n);
  const rmsPx = rig.tracking.otherRmsArcsec / scene.arcsecPerPx;
  return { x: rmsPx * random.normal(), y: rmsPx * random.normal() };
}

/**
 * Expected electrons of sky and stars; each star is drawn on a stamp of twice the reach that holds nearly all
 * its light.
 */
function lightOf(scene: Scene, stars: readonly TrueStar[], width: number, height: number): Image {
  const image = createImage(width, height);
  image.data.fill(scene.backgroundE);
  const half = 2 * Math.ceil(scene.radiusPx) + 6;
  const side = 2 * half + 1;
  const plan = prepareStar(scene.shape, { width: side, height: side });
  const stamp = new Float64Array(side * side);
  for (const { x, y, fluxE } of stars) {
    const left = Math.round(x) - half;
    const top = Math.round(y) - half;
    const { lightOffsetPx } = scene;
    plan.renderInto(stamp, x - left - lightOffsetPx.x, y - top - lightOffsetPx.y, fluxE);
    for (let j = Math.max(0, -top); j < Math.min(side, height - top); j++)
      for (let i = Math.max(0, -left); i < Math.min(side, width - left); i++)
        image.data[(top + j) * width + left + i] += stamp[j * side + i];
  }
  return image;
}

/** FITS holds printable ASCII only. */
function ascii(text: string): string {
  return text.replace(/[^ -~]/g, '?');
}

function tableOf(made: readonly TrueFrame[]): string {
  return textTable([
    ['file', 'shift', 'ring', 'stars', 'x', 'y', 'flux'],
    ['', 'µm', 'px', '', 'px', 'px', 'e-'],
    ...made.map(({ file, focusShiftUm, ringDiameterPx, stars }) => [
      file,
      significant(focusShiftUm, 4),
      significant(ringDiameterPx, 3),
      String(stars.length),
      stars[0].x.toFixed(3),
      stars[0].y.toFixed(3),
      significant(stars[0].fluxE, 4),
    ]),
  ]).join('\n');
}
