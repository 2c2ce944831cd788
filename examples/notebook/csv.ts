/** Tables as text files that a spreadsheet opens. */

export type CsvRecord = Readonly<Record<string, string | number | undefined>>;

/** RFC 4180, all numbers in full. */
export function csvText(records: readonly CsvRecord[]): string {
  const names = Object.keys(records[0]);
  const lines = records.map((record) => names.map((name) => csvField(record[name])).join(','));
  return [names.map(csvField).join(','), ...lines, ''].join('\r\n');
}

/** A text that begins like a formula gets an apostrophe, so that no spreadsheet runs it. */
function csvField(value: string | number | undefined): string {
  if (typeof value === 'number') return String(value);
  const text = (value ?? '').replace(/^(?=[=+\-@\t\r])/, "'");
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}
