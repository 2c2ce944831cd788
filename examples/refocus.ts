/** The main job: must the guide camera be refocused? Reads a rig, prints the advice, writes the page. */
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { parseRig, type Rig, RigError } from '@holdfast/sim';
import { help, readCommandLine, UnusableInput } from './command-line.ts';
import { makeReport } from './make-report.ts';
import { fillPage } from './notebook-page.ts';
import { progressLine } from './progress-line.ts';
import { terminalReport } from './terminal-report.ts';
import { writeSafely } from './write-safely.ts';

/** The repository's root: this file runs as examples/dist/refocus.js. */
const root = new URL('../../', import.meta.url);

async function main(): Promise<void> {
  const options = readCommandLine(process.argv.slice(2));
  if (options.help) {
    console.log(help);
    return;
  }
  const rig = readRig(options.rig ?? fileURLToPath(new URL('examples/rigs/fast-reflector.json', root)));
  const progress = progressLine(process.stderr);
  const report = await makeReport(rig, { ...options, onProgress: progress.update }).finally(progress.clear);
  if (options.page !== undefined) {
    const template = readFileSync(new URL('examples/dist/notebook/index.html', root), 'utf8');
    writeSafely(options.page, fillPage(template, report));
  }
  if (options.json) console.log(JSON.stringify(report, undefined, 2));
  else {
    console.log(terminalReport(rig, report.advice));
    if (options.page !== undefined) console.log(`\nPage with figures: ${options.page}`);
  }
}

function readRig(file: string): Rig {
  let text: string;
  try {
    text = readFileSync(file, 'utf8');
  } catch (error) {
    throw new UnusableInput(`cannot read the rig: ${(error as Error).message}`);
  }
  try {
    return parseRig(text);
  } catch (error) {
    if (error instanceof RigError)
      throw new UnusableInput(`the rig ${file} cannot be used:\n${error.message}`);
    throw error;
  }
}

main().catch((error: unknown) => {
  const unusable = error instanceof UnusableInput;
  console.error(unusable ? error.message : error);
  process.exitCode = unusable ? 2 : 1;
});
