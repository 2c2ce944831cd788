/** What can hurt, and what a model cannot promise. */
import type { Cell } from '../../cell.ts';
import { element } from '../../element.ts';

const lines = [
  [
    'Never point optics near the Sun.',
    'A telescope or finder aimed at it blinds in an instant and burns cameras. Cover or cap them by day.',
  ],
  [
    'A powered mount moves without warning.',
    'Keep hands, hair, cables and clothing clear of it and of the focuser; leave slack in every cable for the whole travel, and know how to cut the power.',
  ],
  [
    'Follow the makers’ instructions',
    'for mount, focuser, cameras and supplies, above all on loads, balance, voltage and damp.',
  ],
  [
    'These are the numbers of a model.',
    'They say what to expect of the rig as it was described. Try the advice on your own star before you leave a night to it.',
  ],
] as const;

export const cautions: Cell = {
  id: 'cautions',
  title: 'Cautions',
  content: () => [
    element(
      'ul',
      { class: 'cautions' },
      ...lines.map(([head, text]) => element('li', {}, element('strong', {}, head), ` ${text}`)),
    ),
  ],
};
