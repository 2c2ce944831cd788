/** What of the published is not in the page, and where it is. */
import type { Cell } from '../../cell.ts';
import { element, paragraph } from '../../element.ts';

const parts = [
  [
    'Open images',
    'of real rings and stars, telescope images and artificial star fields. They are too large for a page. ' +
      'Their files in test/published begin with open-, fits-open- and artificial-.',
  ],
  [
    'Curves, images and statistics,',
    'which are more than one number. Each table above says how many such tests its file has.',
  ],
  [
    'Python’s scientific libraries',
    'on the same stars. The folder test/bench of the project holds their results and the way to repeat them.',
  ],
] as const;

export const elsewhere: Cell = {
  id: 'checked-elsewhere',
  title: 'Checked elsewhere',
  content: () => [
    paragraph(
      'These checks are not in the tables. They are in the project, where the command ',
      element('code', {}, 'npm run test:all'),
      ' runs them:',
    ),
    element(
      'ul',
      {},
      ...parts.map(([head, text]) => element('li', {}, element('strong', {}, head), ` ${text}`)),
    ),
  ],
};
