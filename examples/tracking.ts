/** What does guiding do through a focus run, a filter change or a lost star, and what does it cost the picture? */
import { figureDocument, svgFileText } from './figure-document.ts';
import { trackFigure } from './figures/track-figure.ts';
import { progressLine } from './progress-line.ts';
import { readRig } from './read-rig.ts';
import { runProgram } from './run-program.ts';
import { readTrackingCommand, trackingHelp } from './tracking-command.ts';
import { compareWays } from './tracking-comparison.ts';
import { trackingText } from './tracking-text.ts';
import { writeSafely } from './write-safely.ts';

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
