/** What the words of the notebook mean. */
import { element } from './element.ts';

const words: readonly (readonly [string, string])[] = [
  ['arcsec, ″', 'Angle on the night sky: 1/3600 of a degree.'],
  [
    'astigmatism',
    'Off the axis: the star has two foci, one behind the other. Between them it is a line, then a disc, then a line at right angles.',
  ],
  ['bound, least possible error', 'The Cramér–Rao bound: no unbiased method has a smaller error.'],
  ['center of mass', 'Mean place of the light: each pixel counts by its electrons.'],
  ['coma', 'Off the axis: the star becomes a comet whose tail points toward or away from the axis.'],
  [
    'electrons, e⁻',
    'Photons release electrons in a pixel. ADU: the units of the numbers that the camera writes.',
  ],
  ['F-number', 'Focal length divided by aperture: how slender the cone of light is.'],
  [
    'focus shift',
    'Distance of the guide sensor from its best focus. Positive: beyond it, along the light. Negative: ahead of it.',
  ],
  ['FWHM', 'Full width at half of the maximum: how wide a star is.'],
  ['lost frame', 'A guide frame in which the star gives no position.'],
  ['obstruction ratio', 'Diameter of the secondary mirror divided by that of the aperture.'],
  ['pick-off', 'The small mirror at the edge of the beam that feeds the guide camera.'],
  ['pupil', 'The opening through which the light passes, without what blocks it.'],
  ['read noise', 'Noise that the camera adds to each pixel when it is read, electrons rms.'],
  ['rms', 'Root mean square: the usual size of an error, here along one axis.'],
  ['seeing', 'The blur of a star by moving air.'],
  ['set point', 'The place on the guide sensor where the loop keeps the star.'],
  ['SNR', 'Signal-to-noise ratio: the light of the star divided by its uncertainty.'],
  [
    'standard error, ±',
    'The usual size of a random error: two times out of three the number is closer than this.',
  ],
];

export function glossary(): HTMLElement {
  return element(
    'section',
    { class: 'glossary', 'aria-labelledby': 'words' },
    element('h2', { id: 'words' }, 'Words'),
    element(
      'dl',
      {},
      ...words.map(([word, meaning]) =>
        element('div', {}, element('dt', {}, word), element('dd', {}, meaning)),
      ),
    ),
  );
}
