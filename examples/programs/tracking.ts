/** What does guiding do through a focus run, a filter change or a lost star, and what does it cost the picture? */
import { figureDocument, svgFileText } from '../figures/figure-document.ts';
import { trackFigure } from '../figures/track-figure.ts';
import { compareWays } from '../reports/tracking-comparison.ts';
import { trackingText } from '../reports/tracking-text.ts';
import { progressLine } from './command-line/progress-line.ts';
import { readRig } from './command-line/read-rig.ts';
import { runProgram } from './command-line/run-program.ts';
import { readTrackingCommand, trackingHelp } from './command-line/tracking-command.ts';
import { writeSafely } from './command-line/write-safely.ts';

runProgram(async (args) => {
  const command = readTrackingCommand(args);
  if (command.help) {
    console.log(trackingHelp);
    return;
  }
  const rig = readRig(command.rig);
  const progress = progressLine(process.stderr);
  const comparison = await compareWays(rig, command, { onProgress: progress.update }).finally(progress.clear);
  if (command.figure !== undefined)
    writeSafely(
      command.figure,
      svgFileText(trackFigure(comparison, { document: figureDocument(), paper: true })),
    );
  console.log(
    command.json ? JSON.stringify(comparison, plainArrays, 2) : trackingText(rig, command, comparison),
  );
});

/** Arrays of numbers as JSON knows them. */
function plainArrays(_key: string, value: unknown): unknown {
  return value instanceof Float64Array || value instanceof Uint8Array ? Array.from(value) : value;
}
