/** A figure as a bitmap, for those who cannot use SVG. */
import { Resvg } from '@resvg/resvg-js';

/** PNG bytes of an SVG text, at twice its size; letters come from the fonts of the machine. */
export function svgToPng(svg: string): Uint8Array {
  return new Resvg(svg, {
    fitTo: { mode: 'zoom', value: 2 },
    font: { loadSystemFonts: true, defaultFontFamily: 'Liberation Serif', serifFamily: 'Liberation Serif' },
  })
    .render()
    .asPng();
}
