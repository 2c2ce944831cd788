/** The rig's inputs, as read, with every default filled in. */
import { estimatorLabels, significant } from '@holdfast/sim';
import { shown } from '../../figures/number-words.ts';
import type { Cell } from '../cell.ts';
import { csvText } from '../csv.ts';
import { element, paragraph } from '../element.ts';
import { type Input, inputsOf } from '../inputs-of.ts';
import { saveLink } from '../save-link.ts';

export const rigInputs: Cell = {
  id: 'rig',
  title: 'The rig',
  content({ rig, curve }) {
    const { telescope, guideCamera } = rig;
    const pixelUm = guideCamera.pixelSizeUm * guideCamera.binning;
    const fNumber = significant(telescope.focalLengthMm / telescope.apertureMm, 3);
    const arcsecPerPx = significant(curve[0].arcsecPerPx, 3);
    const binned = guideCamera.binning > 1 ? ` as binned, ${significant(pixelUm, 3)} µm wide` : '';
    const inputs = inputsOf(rig).map((input) =>
      input.quantity === 'estimator' ? { ...input, value: estimatorLabels[rig.tracking.estimator] } : input,
    );
    return [
      paragraph(
        shown(
          `Every number here stands in the rig’s file or is its default, and can be changed there. F-number ${fNumber} and a ` +
            `plate scale of ${arcsecPerPx} arcsec a pixel of the guide camera${binned} follow from them.`,
        ),
      ),
      element(
        'div',
        { class: 'parts' },
        ...[...byPart(inputs)].map(([part, quantities]) => partTable(part, quantities)),
      ),
      element(
        'p',
        { class: 'below' },
        saveLink('save as CSV', 'rig.csv', 'text/csv', () =>
          csvText(inputs.map(({ part, quantity, value, unit }) => ({ part, quantity, value, unit }))),
        ),
      ),
    ];
  },
};

function partTable(part: string, inputs: readonly Input[]): HTMLElement {
  return element(
    'table',
    {},
    element('caption', {}, part),
    element(
      'tbody',
      {},
      ...inputs.map(({ quantity, value, unit }) =>
        element(
          'tr',
          { class: 'row' },
          element('th', { scope: 'row' }, quantity),
          element(
            'td',
            { class: 'value' },
            `${typeof value === 'number' ? shown(String(value)) : value}${unit && `\u00a0${unit}`}`,
          ),
        ),
      ),
    ),
  );
}

function byPart(inputs: readonly Input[]): Map<string, Input[]> {
  const parts = new Map<string, Input[]>();
  for (const input of inputs) parts.set(input.part, [...(parts.get(input.part) ?? []), input]);
  return parts;
}
