/** Where the numbers come from, and what they leave out. */
import { loopNoiseFactor, type Rig, type SweepRow } from '@holdfast/sim';
import { estimatorLabels, significant } from '@holdfast/sim/internal';
import { estimateText, shiftText, shown } from '../../../figures/number-words.ts';
import type { Report } from '../../../reports/report.ts';
import type { Cell } from '../../cell.ts';
import type { LiveReport } from '../../compute/live-report.ts';
import { controls } from '../../controls.ts';
import { element, paragraph } from '../../element.ts';
import { formula, math } from '../../tex.ts';

export const howComputed: Cell = {
  id: 'how-computed',
  title: 'How the numbers were obtained',
  content(book) {
    const example = paragraph();
    const unknown = element('div', {}, paragraph('This list follows when the simulation has ended.'));
    const trials = paragraph();
    book.show(['live'], ({ whole }: LiveReport) => {
      if (whole !== undefined)
        unknown.replaceChildren(
          paragraph('The simulation leaves out'),
          element('ul', {}, ...whole.notModeled.map((text) => element('li', {}, text))),
        );
    });
    book.show(['live'], (live: LiveReport) => {
      if (live.curve === undefined || live.advice.trials === 0) return;
      const report = { ...live, curve: live.curve, stars: [] };
      example.replaceChildren(...photonExample(report));
      trials.replaceChildren(trialWords(report));
    });
    return [
      element('h4', {}, 'The ring'),
      paragraph(
        'At the distance ',
        math`\Delta z`,
        ' from focus, the guide sensor sees the cone of light of a telescope of F‑number ',
        math`F`,
        ' as a ring of outer diameter',
      ),
      formula`d = \frac{|\Delta z|}{F}, \qquad d_{\text{hole}} = \varepsilon\, d,`,
      paragraph(
        'where ',
        math`\varepsilon`,
        ' is the obstruction ratio. ',
        book.text(['rig'], ringWords),
        shown(
          ` Seeing and diffraction blur the ring, and the pixels sample it. Each frame gets its own photon, sky, dark and read ` +
            'noise and is digitized. Its background is measured and subtracted, as with a real frame.',
        ),
      ),
      element('h4', {}, 'Why a ring still guides'),
      paragraph(
        'The center of mass of the light follows the mean slope, over the pupil, of the delay ',
        math`W`,
        ' of the wave; with the focal length ',
        math`f`,
        ' and the pupil coordinate ',
        math`\xi`,
        ',',
      ),
      formula`\bar{x} = f \left\langle \frac{\partial W}{\partial \xi} \right\rangle .`,
      paragraph(
        'Defocus delays the wave by ',
        math`W \propto \xi^2 + \eta^2`,
        ', which slopes alike on all sides of a symmetric pupil, obstructed or not. The slopes cancel: the ring stays where ' +
          'the star is. A pupil that is clipped on one side is not symmetric: its star moves with the focus shift. The noise ' +
          'grows with the ring. For ',
        math`N`,
        ' photons in a ring of outer radius ',
        math`R`,
        ' that is blurred by ',
        math`s`,
        ' (one axis), photons alone give the center of mass an error of',
      ),
      formula`\sigma_x = \sqrt{\frac{s^2 + \tfrac14 R^2 \left(1 + \varepsilon^2\right)}{N}} .`,
      example,
      element('h4', {}, 'The least possible error'),
      paragraph(
        'No unbiased method has a smaller error than the Cramér–Rao bound. Where flux and background are known, with ',
        math`\mu_j`,
        ' expected electrons in pixel ',
        math`j`,
        ' and its read noise ',
        math`\sigma_r`,
        ', it is',
      ),
      formula`\sigma_x^2 \ge \left[ \sum_j \frac{1}{\mu_j + \sigma_r^2} \left( \frac{\partial \mu_j}{\partial x} \right)^{\!2} \right]^{-1} .`,
      element('h4', {}, 'From the guide star to the picture'),
      paragraph(
        'The loop corrects a share ',
        math`g`,
        ' of each measured offset. So a part of the measured noise ',
        math`\sigma`,
        ' reaches the picture. There it adds in quadrature to the seeing, to the other tracking errors and to the pixel ',
        math`p`,
        ' of the main camera:',
      ),
      formula`\begin{aligned} \mathrm{FWHM}^2 = {} & \theta_{\text{seeing}}^2 + \left(k\,\sigma_{\text{other}}\right)^2 + \left(\frac{k\,p}{\sqrt{12}}\right)^{\!2} \\ & {} + \left(k\,\sigma\right)^2 \frac{g}{2 - g}. \end{aligned}`,
      paragraph(
        'Here ',
        math`k = 2\sqrt{2 \ln 2}`,
        ' is the FWHM of a Gaussian divided by its standard deviation. ',
        book.text(['rig'], ({ tracking: { proportionalGain } }: Rig) =>
          shown(
            `With a gain of ${proportionalGain} the loop passes on ${significant(loopNoiseFactor(proportionalGain), 2)} of the noise ` +
              'of one measured position.',
          ),
        ),
      ),
      element('h4', {}, 'Simulated frames'),
      trials,
      controls(book.frameChoice),
      element('h4', {}, 'Not modeled'),
      unknown,
      element('h4', {}, 'Sources'),
      paragraph(
        'Ring and depth of focus: geometry of the cone. Center of mass and mean slope: M. R. Teague, J. Opt. Soc. Am. 72, 1199 ' +
          '(1982), from memory. Noise of a center of mass: propagation of photon counts. Least possible error: H. Cramér, Mathematical ' +
          'Methods of Statistics (1946), from memory. Loop: first-order recursive filter, textbook control theory.',
      ),
    ];
  },
};

function ringWords({ telescope }: Rig): string {
  const fNumber = telescope.focalLengthMm / telescope.apertureMm;
  return shown(
    `Here F = ${significant(fNumber, 3)} and ε = ${telescope.obstructionRatio}: 100 µm out of focus make a ring of ` +
      `${significant(100 / fNumber, 3)} µm.`,
  );
}

function trialWords({ advice, curve }: Report): string {
  return shown(
    `Each row of the table rests on ${advice.trials} simulated frames, each point of the error curve on ` +
      `${curve[0].trials > 0 ? `${curve[0].trials} frames` : 'a formula so far'}. The stars are spread evenly over the pixel, and all methods ` +
      `measure the same frames. The random numbers come from the seed “${advice.seed}”: the same seed gives the same numbers on every ` +
      'computer. Scatter and response count the frames that gave a position; the noise-equivalent error is scatter divided by ' +
      'response. The interval of a lost fraction is Wilson’s.',
  );
}

/** The formula with this rig's numbers, near its focus limit, beside what the simulation gave. */
function photonExample({ curve, advice }: Report): string[] {
  const fromLimit = ({ focusShiftUm }: SweepRow) =>
    Math.abs(Math.abs(focusShiftUm) - advice.limit.limitUm.value);
  const [row] = curve
    .filter(({ estimator, noiseEquivalentPx }) => estimator === 'centerOfMass' && noiseEquivalentPx)
    .sort((a, b) => fromLimit(a) - fromLimit(b));
  if (row === undefined) return [];
  const { trials } = row;
  return [
    shown(
      `It grows with the ring. At ${shiftText(Math.abs(row.focusShiftUm)).replace('+', '')} from focus, with ${significant(row.fluxE, 3)} electrons per frame, ` +
        `it is ${significant(photonErrorPx(row), 2)} px. ${trials > 0 ? 'The simulation' : 'The formula with all noise'} gives the ${estimatorLabels.centerOfMass} ${estimateText(row.noiseEquivalentPx, 'px')}. ` +
        'The difference comes from sky and read noise: a window as large as the ring has many pixels.',
    ),
  ];
}

function photonErrorPx({ blurFwhmPx, outerDiameterPx, obstructionRatio, fluxE }: SweepRow): number {
  const blur = blurFwhmPx / (2 * Math.sqrt(2 * Math.log(2)));
  const spread =
    blur * blur + (outerDiameterPx * outerDiameterPx * (1 + obstructionRatio * obstructionRatio)) / 16;
  return Math.sqrt(spread / fluxE);
}
