/** Every star shape that the library draws, measured, on one sheet. */
import { significant } from '@holdfast/sim/internal';
import { figureDocument, svgFileText } from '../figures/figure-document.ts';
import { fixed } from '../figures/star-sheet/captions.ts';
import { measureStar } from '../figures/star-sheet/measure.ts';
import { type MeasuredSection, starSheet } from '../figures/star-sheet/sheet.ts';
import { sheetSections } from '../figures/star-sheet/stars.ts';
import { textTable } from '../reports/text-table.ts';
import { command } from './command-line/command.ts';
import { outFile } from './command-line/option.ts';
import { writeSafely } from './command-line/write-safely.ts';

export const starShapes = command({
  name: 'star-shapes',
  question: 'Every star shape that the library draws: a sheet of figures, and what was measured on each.',
  options: { out: outFile('FILE', 'where to write the sheet (SVG)', { default: 'star-shapes.svg' }) },
  async run({ out }) {
    const sections = sheetSections.map((section) => ({ ...section, stars: section.stars.map(measureStar) }));
    writeSafely(out, svgFileText(starSheet(sections, { document: figureDocument() })));
    return { data: sections.flatMap(recordsOf), text: () => [tableOf(sections), '', `Sheet: ${out}`] };
  },
});

/** One record per star. Lengths in px, light as a share of the star's. */
function recordsOf({ title: section, stars }: MeasuredSection) {
  return stars.map(({ title, shape, side, x, y, outside, peak, center, expectedCenter, moments, rms }) => ({
    section,
    title,
    kind: shape.kind,
    shape,
    stamp: { width: side, height: side, x, y },
    outsideFraction: outside,
    brightestPixelFraction: peak,
    centerOfMassPx: center,
    expectedCenterOfMassPx: expectedCenter,
    secondMomentsPx2: moments,
    rmsWidthsPx: { long: rms.long, short: rms.short },
    longAxisAngleDeg: rms.angleDeg,
  }));
}

function tableOf(sections: readonly MeasuredSection[]): string {
  const rows = sections.flatMap(({ stars }) =>
    stars.map(({ title, side, outside, center, expectedCenter, rms }) => [
      title,
      String(side),
      significant(100 * outside, 2),
      ...[center.x, center.y, expectedCenter.x, expectedCenter.y, rms.long, rms.short].map((px) =>
        fixed(px, 3),
      ),
      fixed(rms.angleDeg, 1),
    ]),
  );
  const head = [
    'star',
    'stamp',
    'outside',
    'x',
    'y',
    'x of all',
    'y of all',
    'rms long',
    'rms short',
    'angle',
  ];
  return textTable([head, ['', 'px', '%', 'px', 'px', 'px', 'px', 'px', 'px', 'deg'], ...rows]).join('\n');
}
