/** Guide frames of a rig as its camera would write them: FITS files whose truth is known, to try everything on. */
import { mkdirSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { parseArgs } from 'node:util';
import { createImage, exposeFrame, type Image, prepareStar, randomStream } from '@holdfast/psf';
import { buildScene, frameToFits, type Rig, type Scene } from '@holdfast/sim';
import { significant } from '@holdfast/sim/internal';
import { textTable } from '../reports/text-table.ts';
import { UnusableInput } from './command-line/command-line.ts';
import { numberOption, withUserNumbers } from './command-line/number-options.ts';
import { readRig } from './command-line/read-rig.ts';
import { runProgram } from './command-line/run-program.ts';
import { writeSafely } from './command-line/write-safely.ts';

const help = `Simulated guide frames of a rig, as FITS files: 16 bits, with a full header that says what is in them.

  node examples/dist/programs/simulate-frame.js [options]

  --rig FILE       rig whose camera takes them (JSON). Default: examples/rigs/fast-reflector.json
  --shift=UM       focus shift of the guide sensor, um, as --shift=-250. Default 0
  --frames N       how many, 1 to 10000. More than one go into the folder --out, and the stars move from frame to frame as
                   the rig's tracking lets them. Default 1
  --step UM        change of the focus shift from frame to frame, um: a focus run; the header then has FOCUSPOS. Default 0
  --stars N        the guide star and fainter ones about it, 1 to 50. Default 1
  --magnitude V    of the guide star. Default: the rig's
  --exposure S     exposure, s. Default: the rig's
  --size WxH       pixels of the frame. Default: the rig's sensor
  --out PATH       file, or folder for several. Default: frame.fits, or frames
  --seed WORD      seed of the random numbers. Default 1
  --json           print what is in the frames as JSON
  --help           this text

Ends with 0 when they are written, 2 when rig or an option are not usable, 1 when something else failed.`;

/** Scenes are paraxial; the rays of a real cone, D = 2 dz tan(asin(1 / 2F)), make a ring that is a little larger. */
function coneFactor({ telescope: { apertureMm, focalLengthMm } }: Rig): number {
  const fNumber = focalLengthMm / apertureMm;
  return (2 * fNumber) / Math.sqrt(4 * fNumber * fNumber - 1);
}

/** New Year 2024, and what a camera takes from one exposure to the next. */
const firstMs = Date.UTC(2024, 0, 1);
const pauseS = 0.5;
/** Where the focuser stands at focus. */
const focusPosition = 10_000;

interface Options {
  readonly shift: number;
  readonly frames: number;
  readonly step: number;
  readonly stars: number;
  readonly magnitude: number | undefined;
  readonly exposure: number | undefined;
  readonly size: readonly [number, number] | undefined;
  readonly out: string;
  readonly seed: string;
}

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

runProgram(async (args) => {
  const values = parse(args);
  if (values.help) {
    console.log(help);
    return;
  }
  const options = readOptions(values);
  const made = withUserNumbers(() => writeFrames(readRig(values.rig), options));
  console.log(values.json ? JSON.stringify(made, undefined, 2) : tableOf(made));
});

function parse(args: readonly string[]) {
  const text = { type: 'string' } as const;
  try {
    return parseArgs({
      args: [...args],
      allowPositionals: false,
      options: {
        rig: text,
        shift: { type: 'string', default: '0' },
        frames: { type: 'string', default: '1' },
        step: { type: 'string', default: '0' },
        stars: { type: 'string', default: '1' },
        magnitude: text,
        exposure: text,
        size: text,
        out: text,
        seed: { type: 'string', default: '1' },
        json: { type: 'boolean', default: false },
        help: { type: 'boolean', default: false },
      },
    }).values;
  } catch (error) {
    throw new UnusableInput(`${(error as Error).message}\nTry --help.`);
  }
}

function readOptions(values: ReturnType<typeof parse>): Options {
  const frames = whole('frames', values.frames, 1, 10_000);
  for (const name of ['out', 'seed'] as const)
    if (values[name] === '') throw new UnusableInput(`--${name} must not be empty`);
  const size = /^(\d+)x(\d+)$/.exec(values.size ?? '');
  if (values.size !== undefined && size === null)
    throw new UnusableInput(
      `--size must be two whole numbers with an x between, as 640x480, got ${values.size}`,
    );
  return {
    shift: numberOption('shift', values.shift),
    frames,
    step: numberOption('step', values.step),
    stars: whole('stars', values.stars, 1, 50),
    magnitude: values.magnitude === undefined ? undefined : numberOption('magnitude', values.magnitude),
    exposure: values.exposure === undefined ? undefined : numberOption('exposure', values.exposure),
    size: size === null ? undefined : [Number(size[1]), Number(size[2])],
    out: values.out ?? (frames > 1 ? 'frames' : 'frame.fits'),
    seed: values.seed,
  };
}

function whole(name: string, text: string, least: number, most: number): number {
  const value = Number(text);
  if (!Number.isInteger(value) || value < least || value > most)
    throw new UnusableInput(`--${name} must be a whole number from ${least} to ${most}, got ${text}`);
  return value;
}

function writeFrames(rig: Rig, options: Options): TrueFrame[] {
  const { frames, out, shift, step, seed, size } = options;
  const { binning, widthPx, heightPx } = rig.guideCamera;
  const [width, height] = size ?? [Math.floor(widthPx / binning), Math.floor(heightPx / binning)];
  makeFolder(frames > 1 ? out : dirname(out));
  const field = fieldOf(options, width, height);
  return Array.from({ length: frames }, (_, n) => {
    const focusShiftUm = shift + n * step;
    const scene = buildScene(rig, {
      focusShiftUm: focusShiftUm * coneFactor(rig),
      ...(options.magnitude === undefined ? {} : { magnitude: options.magnitude }),
      ...(options.exposure === undefined ? {} : { exposureS: options.exposure }),
    });
    if (Math.min(width, height) < scene.width)
      throw new RangeError(
        `size must be at least ${scene.width} px a side for this star, got ${width}x${height}`,
      );
    const moved = motionOf(rig, scene, options, n);
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
        `sky and dark ${significant(scene.backgroundE, 4)} electrons a pixel`,
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
function motionOf(rig: Rig, scene: Scene, { frames, seed }: Options, n: number): { x: number; y: number } {
  if (frames === 1) return { x: 0, y: 0 };
  const random = randomStream(seed, 'motion', n);
  const rmsPx = rig.tracking.otherRmsArcsec / scene.arcsecPerPx;
  return { x: rmsPx * random.normal(), y: rmsPx * random.normal() };
}

/** Expected electrons of sky and stars; each star is drawn on a stamp of twice the reach that holds nearly all its light. */
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
    ['', 'um', 'px', '', 'px', 'px', 'e-'],
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
