/** Ink on pixels as a picture to put into a figure, made by the browser. */

/** A PNG as a data URL: one color (#rrggbb), and how much of it lies on each pixel, 0 to 1. */
export function canvasPicture(density: Float64Array, columns: number, color: string): string {
  const rows = density.length / columns;
  const canvas = document.createElement('canvas');
  canvas.width = columns;
  canvas.height = rows;
  const pixels = new ImageData(columns, rows);
  const context = canvas.getContext('2d');
  const [red, green, blue] = [1, 3, 5].map((at) => Number.parseInt(color.slice(at, at + 2), 16));
  for (let k = 0; k < density.length; k++)
    pixels.data.set([red, green, blue, Math.round(255 * density[k])], 4 * k);
  context?.putImageData(pixels, 0, 0);
  return canvas.toDataURL('image/png');
}
