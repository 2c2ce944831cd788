/** Names of files that may hold a frame. */

const ends = ['fits', 'fit', 'fts', 'png', 'tif', 'tiff', 'pgm', 'ppm', 'y4m', 'avi'];

export const frameName = new RegExp(`\\.(${ends.join('|')})(\\.gz)?$`, 'i');

/** For people: `.fits, .fit, ... or .avi`. */
export const frameEnds = `${ends
  .slice(0, -1)
  .map((end) => `.${end}`)
  .join(', ')} or .${ends.at(-1)}`;
