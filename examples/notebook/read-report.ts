/** The report that stands in the page as JSON. */
import type { Report } from '../reports/report.ts';

/** `undefined` in the page as built, before a report is put into it. */
export function readReport(page: Document): Report | undefined {
  const text = page.getElementById('holdfast-report')?.textContent?.trim();
  return text ? (JSON.parse(text) as Report) : undefined;
}
