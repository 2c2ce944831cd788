/** A figure as a file. What draws is loaded only here: it takes longer to read than all else of a program. */
import type { FigureOptions } from '../../figures/figure.ts';
import { writeSafely } from './write-safely.ts';

/**
 * @param file  SVG, or a PNG of twice its size when the name ends so
 * @param draw  imports its figure itself
 */
export async function writeFigure(
  file: string,
  draw: (options: FigureOptions) => Promise<SVGSVGElement>,
): Promise<void> {
  const { figureDocument, svgFileText } = await import('../../figures/figure-document.ts');
  const svg = svgFileText(await draw({ document: figureDocument(), paper: true }));
  if (!file.toLowerCase().endsWith('.png')) writeSafely(file, svg);
  else writeSafely(file, (await import('../../figures/svg-to-png.ts')).svgToPng(svg));
}
