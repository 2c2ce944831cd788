/** The main job: must the guide camera be refocused? Reads a rig, prints the advice, writes the page. */
import { readFileSync } from 'node:fs';
import { adviseRefocus, type CompleteAdvice } from '@holdfast/sim';
import { sweepWorkers } from '@holdfast/sim/workers';
import { fillPage } from '../build/notebook-page.ts';
import { frameLines, frameReport } from '../reports/frame-report.ts';
import { makeReport } from '../reports/make-report.ts';
import { terminalReport } from '../reports/terminal-report.ts';
import { help, readCommandLine } from './command-line/command-line.ts';
import { progressLine } from './command-line/progress-line.ts';
import { readRig, root } from './command-line/read-rig.ts';
import { runProgram } from './command-line/run-program.ts';
import { writeSafely } from './command-line/write-safely.ts';

runProgram(async (args) => {
  const options = readCommandLine(args);
  if (options.help) {
    console.log(help);
    return;
  }
  const rig = readRig(options.rig);
  const progress = progressLine(process.stderr);
  const long = { ...options, onProgress: progress.update };
  if (options.frame !== undefined) {
    const frame = await frameReport(rig, options.frame, long).finally(progress.clear);
    console.log(options.json ? JSON.stringify(frame, undefined, 2) : frameLines(rig, frame).join('\n'));
    return;
  }
  if (options.page === undefined && !options.json) {
    const advice = await adviseRefocus(rig, long).finally(progress.clear);
    console.log(terminalReport(rig, advice));
    return;
  }
  const runner = sweepWorkers();
  const onAdvice = (advice: CompleteAdvice): void => {
    if (options.json) return;
    progress.clear();
    console.log(terminalReport(rig, advice));
  };
  const report = await makeReport(rig, { ...long, runner, onAdvice }).finally(() => {
    progress.clear();
    return runner.close();
  });
  if (options.page !== undefined) {
    const template = readFileSync(new URL('examples/dist/notebook/index.html', root), 'utf8');
    writeSafely(options.page, fillPage(template, report));
  }
  if (options.json) console.log(JSON.stringify(report, undefined, 2));
  else if (options.page !== undefined) console.log(`\nPage with figures: ${options.page}`);
});
