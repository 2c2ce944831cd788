/** Text for the terminal, broken into lines. */

/** Text broken at so many characters, its further lines set in. */
export function wrapped(text: string, { width = 100, first = '', rest = '  ' } = {}): string[] {
  const lines: string[] = [];
  let line = first;
  let isEmpty = true;
  for (const word of text.split(' ')) {
    if (!isEmpty && line.length + 1 + word.length > width) {
      lines.push(line);
      line = `${rest}${word}`;
    } else line = isEmpty ? `${line}${word}` : `${line} ${word}`;
    isEmpty = false;
  }
  return [...lines, line];
}
