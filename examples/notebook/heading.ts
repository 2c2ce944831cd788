/** What stands above and below the cells: which rig and star, and how the page was made. */
import { estimatorLabels } from '@holdfast/sim';
import { shown } from '../figures/number-words.ts';
import type { Report } from '../report.ts';
import { element } from './element.ts';

export function subject({ rig, advice }: Report): Node {
  const { guideStar, guideCamera, sky } = rig;
  const line = document.createDocumentFragment();
  line.append(
    element('span', { class: 'name' }, rig.name),
    shown(
      `: a guide star of magnitude ${guideStar.magnitude}, frames of ${guideCamera.exposureS} s, ` +
        `seeing ${sky.seeingFwhmArcsec}″, measured by ${estimatorLabels[advice.estimator]}.`,
    ),
  );
  return line;
}

export function colophon({ version, advice }: Report): Node {
  return element(
    'p',
    {},
    `Computed by holdfast ${version}, seed ${advice.seed}, ${advice.trials} simulated frames a star. ` +
      'This page is one file and asks the network for nothing.',
  );
}
