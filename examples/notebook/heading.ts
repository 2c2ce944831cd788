/** What stands above and below the chapters: which rig and star, and how the page was made. */
import { type Rig, version } from '@holdfast/sim';
import { estimatorLabels } from '@holdfast/sim/internal';
import { shown } from '../figures/number-words.ts';
import { element } from './element.ts';

export function subject({ name, guideStar, guideCamera, sky, tracking }: Rig): Node[] {
  return [
    element('span', { class: 'name' }, name),
    document.createTextNode(
      shown(
        `: a guide star of magnitude ${guideStar.magnitude}, frames of ${guideCamera.exposureS} s, ` +
          `seeing ${sky.seeingFwhmArcsec}″, measured by ${estimatorLabels[tracking.estimator]}.`,
      ),
    ),
  ];
}

export function colophon(): Node {
  return element(
    'p',
    {},
    `Computed by holdfast ${version}. This page is one file: it computes in your browser, asks the network for nothing, ` +
      'and whatever you put into it stays on your machine.',
  );
}
