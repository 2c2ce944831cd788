/** The notebook's first chapter: reads the report in the page and sets its cells. */
import 'katex/dist/katex.min.css';
import './style.css';
import './table.css';
import './print.css';
import { setCells } from './cell.ts';
import { answer } from './cells/answer.ts';
import { cautions } from './cells/cautions.ts';
import { errorCurve } from './cells/error-curve.ts';
import { howComputed } from './cells/how-computed.ts';
import { rigInputs } from './cells/rig-inputs.ts';
import { stars } from './cells/stars.ts';
import { colophon, subject } from './heading.ts';
import { readReport } from './read-report.ts';

const report = readReport(document);
if (report === undefined) {
  document
    .getElementById('cells')
    ?.append(
      'This page holds no report yet. Run  npm start  to compute one: it writes a page with its answer.',
    );
} else {
  document.getElementById('subject')?.append(subject(report));
  document.getElementById('colophon')?.append(colophon(report));
  setCells(
    document.getElementById('cells') as HTMLElement,
    [answer, errorCurve, stars, howComputed, rigInputs, cautions],
    report,
  );
}
