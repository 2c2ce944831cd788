/** The notebook's page with a report put into it: one file that needs nothing else. */
import type { Report } from '../reports/report.ts';

const opening = '<script type="application/json" id="holdfast-report">';
const empty = `${opening}</script>`;

/**
 * Put a report into the built page.
 *
 * @param template  text of `examples/dist/notebook/index.html`
 * @throws Error when the template has no empty place for a report
 */
export function fillPage(template: string, report: Report): string {
  const parts = template.split(empty);
  if (parts.length !== 2)
    throw new Error(
      `the page must hold exactly one empty place for a report (${empty}), got ${parts.length - 1}`,
    );
  return `${parts[0]}${opening}${scriptText(report)}</script>${parts[1]}`;
}

/**
 * JSON in which no text can end the script element or open a comment: `<` is only ever written as an escape.
 */
function scriptText(report: Report): string {
  return JSON.stringify(report).replace(
    /[<>&\u2028\u2029]/g,
    (letter) => `\\u${letter.charCodeAt(0).toString(16).padStart(4, '0')}`,
  );
}
