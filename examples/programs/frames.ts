/**
 * Real frames, one or a folder: where the stars are, how far out of focus, what to do; a table, a picture,
 * JSON.
 */
import { readdirSync, readFileSync, statSync } from 'node:fs';
import { basename, join } from 'node:path';
import {
  type FrameFileOptions,
  type FrameImage,
  type MosaicPattern,
  measureFrame,
  readFrameFile,
} from '@holdfast/sim';
import { figureDocument, svgFileText } from '../figures/figure-document.ts';
import { framesFigure } from '../figures/frames-figure.ts';
import { framePlate, markedFrameFigure } from '../figures/marked-frame.ts';
import { platePicture } from '../figures/star-sheet/plate-picture.ts';
import { frameLines, frameSource, missingText, reportOn } from '../reports/frame-report.ts';
import { sequenceLines, sequenceReport } from '../reports/frames-sequence.ts';
import { rigWithStar, starWavefront, wavefrontLines } from '../reports/star-wavefront.ts';
import { UnusableInput } from '../reports/unusable-input.ts';
import { command } from './command-line/command.ts';
import { frameEnds, frameName } from './command-line/frame-names.ts';
import { flag, number, numbers, outFile, text, word, wordIn } from './command-line/option.ts';
import { aperture, focalLength, givenRig, pixel, seed, set, trials } from './command-line/shared-options.ts';
import { writeSafely } from './command-line/write-safely.ts';

export const frames = command({
  name: 'frames',
  question:
    'A frame of your guide camera, or a folder of them: where the stars are, how far out of focus, and what to do.',
  files: 'FILE... or FOLDER',
  about: [
    'FITS, PNG, TIFF, PGM, PPM, and films without compression (Y4M, AVI, FITS cubes, TIFF of many pages), each compressed with gzip or not. For one frame it prints the position of the brightest star by every ' +
      'method, its ring, and what to do about the focus. Several files, a folder or a film are a sequence: it prints the positions ' +
      'against time, the motion that all stars share, the noise of each star, and the focus against time. Where the focuser was moved, it calibrates the focuser.',
  ],
  options: {
    rig: { ...givenRig, otherwiseText: 'the telescope that header and options describe' },
    aperture,
    focalLength,
    pixel,
    set,
    picture: outFile('FILE.svg', 'draw the star with its ring, and of a sequence its path', {
      ends: ['.svg'],
    }),
    figure: outFile('FILE.svg', 'of one frame: draw all of it, each star with its ring and number', {
      ends: ['.svg'],
    }),
    positions: numbers(
      'LIST',
      "positions of the focuser, 1000,1100,... in the order of the files' names, where the headers have none",
    ),
    color: word(
      'WHICH',
      'of frames in color or behind a mosaic: sum, red, green or blue',
      ['sum', 'red', 'green', 'blue'],
      {
        default: 'sum',
      },
    ),
    mosaic: text(
      'PATTERN',
      'the frames have a color mosaic: RGGB, BGGR, GRBG or GBRG; none = they have none',
      {
        otherwise: 'as the header says',
      },
    ),
    wavefront: flag('of one frame: the wavefront of its star, each term with its error'),
    side: word(
      'SIDE',
      'the side of focus that the wavefront is for: beyond or before',
      ['beyond', 'before'],
      {
        default: 'beyond',
      },
    ),
    saveRig: outFile(
      'FILE',
      'of one frame: write the rig with the wavefront of its star and the edge that clips it',
    ),
    stars: number('N', 'largest number of stars followed in a sequence, 1 to 50', {
      isWhole: true,
      low: 1,
      high: 50,
      default: 6,
    }),
    leastSnr: number(
      'SNR',
      'of a sequence: leave out frames whose brightest star has a lower SNR, and list their names',
      {
        low: 0,
        high: 1e6,
        default: 0,
      },
    ),
    trials,
    seed,
  },
  async run(
    { picture, figure, positions, color, mosaic, stars, leastSnr, wavefront, side, saveRig, ...asked },
    { files: paths, onProgress },
  ) {
    const source = frameSource(asked);
    const { seed, trials } = asked;
    const { files, isSequence: areMany } = filesOf(paths);
    if (positions !== undefined && positions.length !== files.length)
      throw new UnusableInput(
        `--positions must be one number per file, got ${positions.length} for ${files.length} files`,
      );
    const read = { color: color, ...mosaicOf(mosaic) };
    const alone = areMany ? undefined : await readOne(files[0], read);
    const isSequence = alone === undefined || alone.framesInFile !== undefined;
    const title = paths.length === 1 ? basename(paths[0]) : `${paths.length} files`;
    const options = { seed, trials, read, ...(onProgress ? { onProgress } : {}) };
    const draw = (figure: Parameters<typeof framesFigure>[0]): string[] => {
      if (picture === undefined) return [];
      writeSafely(picture, svgFileText(framesFigure(figure, { document: figureDocument() })));
      return ['', `Picture: ${picture}`];
    };
    if (isSequence && (wavefront || saveRig !== undefined || figure !== undefined))
      throw new UnusableInput('--wavefront, --save-rig and --figure need one frame, got several');
    if (!isSequence) {
      const frame = alone;
      const report = await reportOn(source, files[0], frame, options);
      const { star, rig, camera } = report;
      const { table: _, ...data } = report;
      const drawn = draw({ title, frame, star, camera, ...(rig ? { rig } : {}) });
      if (figure !== undefined) {
        const marked = markedFrameFigure(
          { title, plate: framePlate(frame), marks: report.marks, picture: platePicture },
          { document: figureDocument(), paper: true },
        );
        writeSafely(figure, svgFileText(marked));
        drawn.push('', `Figure: ${figure}`);
      }
      if (!wavefront && saveRig === undefined) return { data, text: () => [...frameLines(report), ...drawn] };
      if (report.rig === undefined)
        throw new UnusableInput(`a wavefront needs ${missingText(report.missing)}, or a rig file (--rig)`);
      const fit = starWavefront(frame, star, report.camera, side);
      if (saveRig !== undefined) {
        if (!fit.ok)
          throw new UnusableInput(`--save-rig needs a wavefront, and there is none: ${fit.reason}`);
        writeSafely(saveRig, `${JSON.stringify(rigWithStar(report.rig, fit), undefined, 2)}\n`);
      }
      const { wavelengthNm } = report.rig.guideCamera;
      const saved = saveRig === undefined ? [] : ['', `Rig with this star: ${saveRig}`];
      return {
        data: { ...data, wavefront: fit },
        text: () => [...frameLines(report), '', ...wavefrontLines(fit, wavelengthNm), ...drawn, ...saved],
      };
    }
    const sequence = { files, positions, read, maxStars: stars, leastSnr, title };
    const { report, first } = await sequenceReport(source, sequence, options);
    const { camera, rig } = report;
    const [star] = measureFrame(first.image, { ...camera.measure, maxStars: 1 });
    const drawn =
      star === undefined
        ? []
        : draw({
            title: `${title}: first frame`,
            frame: first,
            star,
            rig,
            camera,
            sequence: report.sequence,
          });
    return { data: report, text: () => [...sequenceLines(report), ...drawn] };
  },
});

async function readOne(file: string, read: FrameFileOptions): Promise<FrameImage> {
  let bytes: Uint8Array;
  try {
    bytes = new Uint8Array(readFileSync(file));
  } catch (error) {
    throw new UnusableInput(`cannot read the frame: ${(error as Error).message}`);
  }
  const frame = await readFrameFile(bytes, read);
  if (!frame.ok) throw new UnusableInput(`${file} gives no image: ${frame.message}`);
  return frame;
}

const patterns: readonly MosaicPattern[] = ['RGGB', 'BGGR', 'GRBG', 'GBRG'];

function mosaicOf(text: string | undefined): Pick<FrameFileOptions, 'mosaic'> {
  if (text === undefined) return {};
  if (text === 'none') return { mosaic: false };
  const pattern = wordIn(text.toUpperCase(), 'mosaic', patterns);
  return { mosaic: { pattern } };
}

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
    throw new UnusableInput(`the folder ${first} holds no frame: no file that ends in ${frameEnds}`);
  return { files, isSequence: true };
}

function isFolder(path: string): boolean {
  try {
    return statSync(path).isDirectory();
  } catch (error) {
    throw new UnusableInput(`cannot read the frame: ${(error as Error).message}`);
  }
}
