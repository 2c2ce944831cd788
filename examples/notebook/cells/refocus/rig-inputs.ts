/** The rig's inputs, as read, with every default filled in. */
import { plateScaleArcsecPerPx } from '@holdfast/psf';
import type { Rig } from '@holdfast/sim';
import { estimatorLabels, significant } from '@holdfast/sim/internal';
import { shown } from '../../../figures/number-words.ts';
import type { Cell } from '../../cell.ts';
import { csvText } from '../../csv.ts';
import { element, paragraph } from '../../element.ts';
import { type Input, inputsOf } from '../../inputs-of.ts';
import { saveLink, textBlob } from '../../save-link.ts';

export const rigInputs: Cell = {
  id: 'rig',
  title: 'The rig in full',
  content(book) {
    const list = element('div', { class: 'parts' });
    const derived = paragraph();
    let inputs: readonly Input[] = [];
    let isListed = true;
    const fill = () => {
      if (isListed) return;
      isListed = true;
      list.replaceChildren(...[...byPart(inputs)].map(([part, quantities]) => partTable(part, quantities)));
    };
    const whole = element(
      'details',
      {},
      element('summary', {}, 'Every number of the rig, with its defaults'),
      list,
      element(
        'p',
        { class: 'below' },
        saveLink('save as CSV', 'rig-inputs.csv', () =>
          textBlob(
            csvText(inputs.map(({ part, quantity, value, unit }) => ({ part, quantity, value, unit }))),
            'text/csv',
          ),
        ),
      ),
    );
    // A closed list is made when it is opened, or printed.
    whole.addEventListener('toggle', fill);
    addEventListener('beforeprint', fill);
    book.show(['rig'], (rig: Rig) => {
      const { estimator, available } = rig.tracking;
      const labels: Readonly<Record<string, string>> = {
        estimator: estimatorLabels[estimator],
        available: available.map((name) => estimatorLabels[name]).join(', '),
      };
      inputs = inputsOf(rig).map((input) => ({ ...input, value: labels[input.quantity] ?? input.value }));
      derived.replaceChildren(shown(derivedWords(rig)));
      isListed = false;
      if (whole.open) fill();
    });
    return [derived, whole];
  },
};

function derivedWords({ telescope, guideCamera }: Rig): string {
  const { apertureMm, focalLengthMm } = telescope;
  const pixelSizeUm = guideCamera.pixelSizeUm * guideCamera.binning;
  const arcsecPerPx = significant(plateScaleArcsecPerPx({ pixelSizeUm, focalLengthMm }), 3);
  const binned = guideCamera.binning > 1 ? ` as binned, ${significant(pixelSizeUm, 3)} µm wide` : '';
  return (
    `These numbers give an F‑number of ${Number((focalLengthMm / apertureMm).toPrecision(3))} and a plate scale of ` +
    `${arcsecPerPx} arcsec per pixel of the guide camera${binned}.`
  );
}

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
