/** Draws the README's figures again:  node examples/dist/build/readme-figure.js */
import { readFileSync, writeFileSync } from 'node:fs';
import { parseRig, startRig } from '@holdfast/sim';
import { estimatorLabels } from '@holdfast/sim/internal';
import { errorCurveFigure } from '../figures/error-curve.ts';
import { figureDocument, svgFileText } from '../figures/figure-document.ts';
import { starPlates } from '../figures/star-strip.ts';
import { progressLine } from '../programs/command-line/progress-line.ts';
import { makeReport, starPicture } from '../reports/make-report.ts';
import { answerFromSight } from '../reports/ring-answer.ts';

/** The repository's root: this file runs as examples/dist/build/readme-figure.js. */
const root = new URL('../../../', import.meta.url);
const onPaper = { document: figureDocument(), width: 800, paper: true };
const progress = progressLine(process.stderr);
const work = { seed: '1', trials: 1024, onProgress: progress.update };
const write = (name: string, figure: SVGSVGElement) =>
  writeFileSync(new URL(`examples/figures/${name}.svg`, root), svgFileText(figure));

const rig = parseRig(readFileSync(new URL('examples/rigs/fast-reflector.json', root), 'utf8'));
write('readme-curve', errorCurveFigure(await makeReport(rig, work), onPaper));

/** The rings of the README's command: in focus, as asked about, and beyond the limit. */
const seen = { apertureMm: 120, focalLengthMm: 840, pixelSizeUm: 2.9 };
const rings = [0, 22, 52];
const answers = [];
for (const ringDiameterPx of rings) {
  const asked = { ...seen, ringDiameterPx };
  answers.push(await answerFromSight(asked, startRig(asked), work));
}
progress.clear();
const labels = answers.map((answer, i) => [
  answer.advice.outcome.toUpperCase(),
  rings[i] === 0 ? 'in focus' : `ring ${rings[i]} px`,
  `${Math.round(answer.absFocusShiftUm)} µm from focus`,
]);
const told = labels.map((label) => label.join(', ')).join('; ');
write(
  'readme-stars',
  starPlates(
    answers.map(({ rig, absFocusShiftUm }) => starPicture(rig, absFocusShiftUm, '1')),
    {
      labels,
      estimator: estimatorLabels[answers[0].rig.tracking.estimator],
      alternative: `A guide star as its camera sees it, and what to do about its focus: ${told}.`,
    },
    onPaper,
  ),
);
