/** What the words of the notebook mean. */
import { element } from './element.ts';

const words: readonly (readonly [string, string])[] = [
  ['arcsec, ″', 'Angle on the night sky: 1/3600 of a degree.'],
  [
    'astigmatism',
    'Off the axis: two foci, one behind the other, between which the star is a line, a disc, and a line across.',
  ],
  [
    'bound, least possible error',
    'The Cramér–Rao bound: no way of measuring without bias has a smaller error.',
  ],
  ['center of mass', 'Mean place of the light, each pixel weighed by its electrons.'],
  ['coma', 'Off the axis: the star draws a comet, whose tail points to or from the axis.'],
  [
    'electrons, e⁻',
    'What photons set free in a pixel; the camera counts them. ADU: the numbers in which it says so.',
  ],
  ['F-number', 'Focal length over aperture: how slender the cone of light is.'],
  ['focus shift', 'How far the guide sensor lies beyond best focus, along the light; negative: ahead of it.'],
  ['FWHM', 'Full width at half of the maximum: how wide a star is.'],
  ['lost frame', 'A guide frame in which the star gives no position.'],
  ['obstruction ratio', 'Diameter of the secondary mirror over that of the aperture.'],
  ['pick-off', 'The small mirror at the edge of the beam that feeds the guide camera.'],
  ['pupil', 'The aperture as the light passes it, with all that stands in the way.'],
  ['read noise', 'What the camera adds to every pixel when it reads it, in electrons rms.'],
  ['rms', 'Root of the mean of the squares: the usual size of an error, here along one axis.'],
  ['seeing', 'The blur of a star by moving air.'],
  ['set point', 'The place on the guide sensor where the loop keeps the star.'],
  ['SNR', 'Signal-to-noise ratio: the light of the star over the error with which it is known.'],
  ['standard error, ±', 'How far a number may be off by chance: two times in three less than this.'],
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
