/** Draws the README's figure again from the example rig:  node examples/dist/readme-figure.js */
import { readFileSync, writeFileSync } from 'node:fs';
import { parseRig } from '@holdfast/sim';
import { errorCurveFigure } from '../figures/error-curve.ts';
import { figureDocument, svgFileText } from '../figures/figure-document.ts';
import { progressLine } from '../programs/command-line/progress-line.ts';
import { makeReport } from '../reports/make-report.ts';

/** The repository's root: this file runs as examples/dist/readme-figure.js. */
const root = new URL('../../../', import.meta.url);

const rig = parseRig(readFileSync(new URL('examples/rigs/fast-reflector.json', root), 'utf8'));
const progress = progressLine(process.stderr);
const report = await makeReport(rig, { seed: '1', trials: 1024, onProgress: progress.update }).finally(
  progress.clear,
);
const figure = errorCurveFigure(report, { document: figureDocument(), width: 800, paper: true });
writeFileSync(new URL('examples/figures/readme-figure.svg', root), svgFileText(figure));
