/** Merline & Howell 1995, Experimental Astronomy 6, 163: signal to noise of a star on a CCD. */
import { magnitudeError, snrOfStar } from '@holdfast/psf';
import { checkPublished } from './published.ts';

const source = 'Merline & Howell 1995, Exp. Astron. 6, 163 (the equation; the rows were computed with numpy)';
// Rounding noise of a gain of 1.5: the source has 0.289 ADU for 1 / sqrt 12, a change of 2e-6 of the result.
const noisy = {
  pixels: 50,
  backgroundPixels: 500,
  skyEPerPx: 100,
  darkEPerPx: 5,
  readNoiseE: 8,
  gainEPerAdu: 1.5,
};

checkPublished(
  {
    what: 'SNR of 10,000 electrons',
    value: 71.9716,
    tolerance: 2e-4,
    source,
    note: '6 digits; 0.289 for 1/sqrt 12',
  },
  () => snrOfStar({ starE: 10_000, ...noisy }),
);
checkPublished(
  {
    what: 'SNR of 500 electrons',
    value: 5.04939,
    tolerance: 2e-5,
    source,
    note: '6 digits; 0.289 for 1/sqrt 12',
  },
  () => snrOfStar({ starE: 500, ...noisy }),
);
checkPublished(
  {
    what: 'SNR of 1000 electrons, background known',
    value: 22.0863,
    tolerance: 5e-5,
    source,
    note: '6 digits',
  },
  () => snrOfStar({ starE: 1000, pixels: 30, skyEPerPx: 10, readNoiseE: 5 }),
);
checkPublished(
  {
    what: 'magnitude error at SNR 1',
    value: 1.085736,
    tolerance: 5e-7,
    source: '2.5 / ln 10, the definition of the magnitude',
    note: 'digits printed',
  },
  () => magnitudeError(1),
);
