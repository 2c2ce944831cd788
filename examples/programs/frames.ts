/** Real frames, one or a folder: where the stars are, how far out of focus, what to do; a table, a picture, JSON. */
import { readFileSync } from 'node:fs';
import { type FrameImage, measureFrame, readFrameFile } from '@holdfast/sim';
import { figureDocument, svgFileText } from '../figures/figure-document.ts';
import { framesFigure } from '../figures/frames-figure.ts';
import { frameLines, reportOn } from '../reports/frame-report.ts';
import { sequenceLines, sequenceReport } from '../reports/frames-sequence.ts';
import { UnusableInput } from './command-line/command-line.ts';
import { type FramesCommand, framesHelp, readFramesCommand } from './command-line/frames-command.ts';
import { progressLine } from './command-line/progress-line.ts';
import { readRig } from './command-line/read-rig.ts';
import { runProgram } from './command-line/run-program.ts';
import { writeSafely } from './command-line/write-safely.ts';

runProgram(async (args) => {
  const command = readFramesCommand(args);
  if (command.help) {
    console.log(framesHelp);
    return;
  }
  const rig = readRig(command.rig);
  const progress = progressLine(process.stderr);
  const options = { ...command, onProgress: progress.update };
  const draw = (figure: Parameters<typeof framesFigure>[0]) => {
    if (command.picture === undefined) return;
    writeSafely(command.picture, svgFileText(framesFigure(figure, { document: figureDocument() })));
  };
  if (!command.isSequence) {
    const [file] = command.files;
    const frame = await readOne(file, command);
    const report = await reportOn(rig, file, frame, options).finally(progress.clear);
    draw({ title: command.title, frame, star: report.star, rig, camera: report.camera });
    print(command, report, frameLines(rig, report));
    return;
  }
  const { report, first } = await sequenceReport(rig, command, options).finally(progress.clear);
  const [star] = measureFrame(first.image, { ...report.camera.measure, maxStars: 1 });
  if (star !== undefined)
    draw({
      title: `${command.title}: first frame`,
      frame: first,
      star,
      rig,
      camera: report.camera,
      sequence: report.sequence,
    });
  print(command, report, sequenceLines(rig, report));
});

function print({ json, picture }: FramesCommand, report: unknown, lines: readonly string[]): void {
  console.log(json ? JSON.stringify(report, plainArrays, 2) : lines.join('\n'));
  if (!json && picture !== undefined) console.log(`\nPicture: ${picture}`);
}

async function readOne(file: string, { read }: FramesCommand): Promise<FrameImage> {
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

/** Arrays of numbers as JSON knows them. */
function plainArrays(_key: string, value: unknown): unknown {
  return value instanceof Float64Array || value instanceof Uint8Array ? Array.from(value) : value;
}
