/** Rows as text: columns that read as numbers stand to the right, others to the left. */

/** @param rows  the first row is the head, the second the units; all of one length */
export function textTable(rows: readonly (readonly string[])[]): string[] {
  const widths = rows[0].map((_, column) => Math.max(...rows.map((row) => row[column].length)));
  const numeric = rows[0].map((_, column) =>
    rows.slice(2).every((row) => /^[-+<\s]*\d|^none$/.test(row[column])),
  );
  return rows.map((row) =>
    row
      .map((text, column) => (numeric[column] ? text.padStart(widths[column]) : text.padEnd(widths[column])))
      .join('  ')
      .trimEnd(),
  );
}
