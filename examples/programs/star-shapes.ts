/** Every star shape that the library draws, measured, on one sheet:  node examples/dist/programs/star-shapes.js */
import { parseArgs } from 'node:util';
import { significant } from '@holdfast/sim/internal';
import { figureDocument, svgFileText } from '../figures/figure-document.ts';
import { fixed } from '../figures/star-sheet/captions.ts';
import { measureStar } from '../figures/star-sheet/measure.ts';
import { type MeasuredSection, starSheet } from '../figures/star-sheet/sheet.ts';
import { sheetSections } from '../figures/star-sheet/stars.ts';
import { textTable } from '../reports/text-table.ts';
import { UnusableInput } from './command-line/command-line.ts';
import { runProgram } from './command-line/run-program.ts';
import { writeSafely } from './command-line/write-safely.ts';

const help = `Every star shape that the library draws: a sheet of figures, and what was measured on each.

  node examples/dist/programs/star-shapes.js [options]

  --out FILE      where to write the sheet (SVG). Default: star-shapes.svg
  --json          print every parameter and measure as JSON instead of a table
  --help          this text

Ends with 0 when it has drawn them, 2 when an option is not usable or the sheet cannot be written.`;

runProgram(async (args) => {
  const { out, json, help: asked } = readOptions(args);
  if (asked) {
    console.log(help);
    return;
  }
  const sections = sheetSections.map((section) => ({ ...section, stars: section.stars.map(measureStar) }));
  writeSafely(out, svgFileText(starSheet(sections, { document: figureDocument() })));
  console.log(json ? JSON.stringify(sections.flatMap(recordsOf), undefined, 2) : tableOf(sections));
  if (!json) console.log(`\nSheet: ${out}`);
});

function readOptions(args: readonly string[]) {
  try {
    const { values } = parseArgs({
      args: [...args],
      allowPositionals: false,
      options: {
        out: { type: 'string', default: 'star-shapes.svg' },
        json: { type: 'boolean', default: false },
        help: { type: 'boolean', default: false },
      },
    });
    if (values.out === '') throw new Error('--out must not be empty');
    return values;
  } catch (error) {
    throw new UnusableInput(`${(error as Error).message}\nTry --help.`);
  }
}

/** One record a star. Lengths in px, light as a share of the star's. */
function recordsOf({ title: section, stars }: MeasuredSection) {
  return stars.map(({ title, shape, side, x, y, outside, peak, centre, expectedCentre, moments, rms }) => ({
    section,
    title,
    kind: shape.kind,
    shape,
    stamp: { width: side, height: side, x, y },
    outsideFraction: outside,
    brightestPixelFraction: peak,
    centreOfMassPx: centre,
    expectedCentreOfMassPx: expectedCentre,
    secondMomentsPx2: moments,
    rmsWidthsPx: { long: rms.long, short: rms.short },
    longAxisAngleDeg: rms.angleDeg,
  }));
}

function tableOf(sections: readonly MeasuredSection[]): string {
  const rows = sections.flatMap(({ stars }) =>
    stars.map(({ title, side, outside, centre, expectedCentre, rms }) => [
      title,
      String(side),
      significant(100 * outside, 2),
      ...[centre.x, centre.y, expectedCentre.x, expectedCentre.y, rms.long, rms.short].map((px) =>
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
