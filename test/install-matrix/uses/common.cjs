const { version } = require('@holdfast/sim');
const { renderStar } = require('@holdfast/psf');
const { gaussianFit } = require('@holdfast/centroid');

if (typeof version !== 'string' || typeof renderStar !== 'function' || typeof gaussianFit !== 'function')
  throw new Error('require gave something else');
import('./task.js').then(async ({ task }) => console.log(await task((await import('./own.js')).default)));
