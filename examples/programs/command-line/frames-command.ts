/** The command line of the frames program: options, help, and which files it works on. */
import { existsSync, readdirSync, statSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { parseArgs } from 'node:util';
import type { ColourTake, FrameFileOptions, MosaicPattern } from '@holdfast/sim';
import { UnusableInput } from './command-line.ts';

export const framesHelp = `A frame of your guide camera, or a folder of them: where the stars are, how far out of focus, and what to do.

  node examples/dist/programs/frames.js [options] FILE       one frame
  node examples/dist/programs/frames.js [options] FOLDER     all frames of a folder, as a sequence
  node examples/dist/programs/frames.js [options] FILE...    the same for these files

FITS, PNG and TIFF, each compressed with gzip or not. Of one frame: position of the brightest star by every estimator, its
ring, what to do about the focus. Of a sequence: positions against time, split into motion that all stars share and noise of
each, the focus against time; where the focuser was moved, its calibration.

  --rig FILE         the rig that took them (JSON). Default: examples/rigs/fast-reflector.json
  --picture FILE     draw the star with its ring, and of a sequence its path (SVG)
  --positions LIST   positions of the focuser, 1000,1100,... in the order of the files' names, where the headers have none
  --colour WHICH     of frames in colour or behind a mosaic: sum, red, green or blue. Default sum
  --mosaic PATTERN   the frames have a colour mosaic: RGGB, BGGR, GRBG or GBRG; none = they have none, whatever the header
                     says. Default: as the header says
  --stars N          most stars followed in a sequence, 1 to 50. Default 6
  --trials N         simulated frames for each number of the advice, 64 to 1000000. Default 1024
  --seed WORD        seed of the random numbers. Default 1
  --json             print everything as JSON
  --help             this text

Ends with 0 when it has answered, 2 when rig, frames or an option are not usable (nothing is written then), 1 when something
else failed.`;

export interface FramesCommand {
  readonly help: boolean;
  readonly rig: string | undefined;
  readonly picture: string | undefined;
  readonly json: boolean;
  readonly trials: number;
  readonly seed: string;
  readonly maxStars: number;
  readonly read: FrameFileOptions;
  readonly positions: readonly number[] | undefined;
  /** In the natural order of their names. */
  readonly files: readonly string[];
  /** What the user named, for titles. */
  readonly title: string;
  readonly isSequence: boolean;
}

/** @throws UnusableInput that names the option or path, what was got and what is allowed */
export function readFramesCommand(args: readonly string[]): FramesCommand {
  const { values, positionals } = parse(args);
  for (const name of ['rig', 'picture', 'seed'] as const)
    if (values[name] === '') throw new UnusableInput(`--${name} must not be empty`);
  if (values.picture !== undefined && !/\.svg$/i.test(values.picture))
    throw new UnusableInput(`--picture must end in .svg, got ${values.picture}`);
  // before the work, not after it
  if (values.picture !== undefined && !existsSync(dirname(values.picture)))
    throw new UnusableInput(`cannot write ${values.picture}: there is no folder ${dirname(values.picture)}`);
  const found = values.help ? { files: [], isSequence: false } : filesOf(positionals);
  const positions = values.positions === undefined ? undefined : numbers('positions', values.positions);
  if (positions !== undefined && positions.length !== found.files.length)
    throw new UnusableInput(
      `--positions must be one number a file, got ${positions.length} for ${found.files.length} files`,
    );
  return {
    help: values.help,
    rig: values.rig,
    picture: values.picture,
    json: values.json,
    trials: whole('trials', values.trials, 64, 1_000_000),
    seed: values.seed,
    maxStars: whole('stars', values.stars, 1, 50),
    read: {
      colour: oneOf('colour', values.colour, ['sum', 'red', 'green', 'blue']) as ColourTake,
      ...mosaicOf(values.mosaic),
    },
    positions,
    ...found,
    title: positionals.length === 1 ? basename(positionals[0]) : `${positionals.length} files`,
  };
}

function parse(args: readonly string[]) {
  const text = { type: 'string' } as const;
  try {
    return parseArgs({
      args: [...args],
      allowPositionals: true,
      options: {
        rig: text,
        picture: text,
        positions: text,
        colour: { type: 'string', default: 'sum' },
        mosaic: text,
        stars: { type: 'string', default: '6' },
        trials: { type: 'string', default: '1024' },
        seed: { type: 'string', default: '1' },
        json: { type: 'boolean', default: false },
        help: { type: 'boolean', default: false },
      },
    });
  } catch (error) {
    throw new UnusableInput(`${(error as Error).message}\nTry --help.`);
  }
}

function whole(name: string, text: string, least: number, most: number): number {
  const value = Number(text);
  if (!Number.isInteger(value) || value < least || value > most)
    throw new UnusableInput(`--${name} must be a whole number from ${least} to ${most}, got ${text}`);
  return value;
}

function numbers(name: string, text: string): number[] {
  const list = text.split(',').map((part) => (part.trim() === '' ? Number.NaN : Number(part)));
  if (!list.every(Number.isFinite))
    throw new UnusableInput(`--${name} must be numbers with commas between, got ${text}`);
  return list;
}

function oneOf(name: string, text: string, allowed: readonly string[]): string {
  if (!allowed.includes(text))
    throw new UnusableInput(`--${name} must be one of ${allowed.join(', ')}, got ${text}`);
  return text;
}

function mosaicOf(text: string | undefined): Pick<FrameFileOptions, 'mosaic'> {
  if (text === undefined) return {};
  if (text === 'none') return { mosaic: false };
  const pattern = oneOf('mosaic', text.toUpperCase(), ['RGGB', 'BGGR', 'GRBG', 'GBRG']) as MosaicPattern;
  return { mosaic: { pattern } };
}

const frameName = /\.(fits?|fts|png|tiff?)(\.gz)?$/i;
/** 2 before 10. */
const natural = new Intl.Collator('en', { numeric: true });

function filesOf(paths: readonly string[]): { files: readonly string[]; isSequence: boolean } {
  const [first, ...more] = paths;
  if (first === undefined) throw new UnusableInput('name a frame or a folder of frames.\nTry --help.');
  if (more.length > 0 || !isFolder(first)) {
    const folder = more.length > 0 && paths.find(isFolder);
    if (folder) throw new UnusableInput(`${folder} is a folder: name one folder, or files only`);
    return { files: [...paths].sort(natural.compare), isSequence: more.length > 0 };
  }
  const files = readdirSync(first)
    .filter((name) => frameName.test(name))
    .sort(natural.compare)
    .map((name) => join(first, name));
  if (files.length === 0)
    throw new UnusableInput(`the folder ${first} holds no .fits, .fit, .fts, .png, .tif or .tiff file`);
  return { files, isSequence: true };
}

function isFolder(path: string): boolean {
  try {
    return statSync(path).isDirectory();
  } catch (error) {
    throw new UnusableInput(`cannot read the frame: ${(error as Error).message}`);
  }
}
