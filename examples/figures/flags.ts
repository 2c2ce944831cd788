/** Names above an axis, each with a pole down to its place: laid out in rows so that none covers another. */
import { textWidth } from './figure.ts';

export interface Flag {
  readonly text: string;
  /** Where the pole stands, px. */
  readonly x: number;
  /** 0 = the row nearest to the axis. */
  readonly row: number;
  /** The text begins at the pole, or ends there where the sheet does. */
  readonly anchor: 'start' | 'end';
}

const gap = 4;

/**
 * A name flies to the right of its pole. From the right to the left, each goes into the lowest row that is
 * higher than all poles under its text; so no pole crosses a text.
 */
export function flagRows(names: readonly { text: string; x: number }[], rightEdge: number): Flag[] {
  const placed: (Flag & { from: number; to: number })[] = [];
  const add = (text: string, x: number, anchor: Flag['anchor']) => {
    const width = textWidth(text) + 2 * gap;
    const [from, to] = anchor === 'start' ? [x, x + width] : [x - width, x];
    const under = placed.filter(
      (other) => (other.x >= from && other.x <= to) || (other.to > from && other.from < to),
    );
    placed.push({
      text,
      x,
      anchor,
      from,
      to,
      row: under.reduce((row, other) => Math.max(row, other.row + 1), 0),
    });
  };
  const fits = ({ text, x }: { text: string; x: number }) => x + textWidth(text) + gap <= rightEdge;
  for (const { text, x } of names.filter(fits).sort((a, b) => b.x - a.x)) add(text, x, 'start');
  for (const { text, x } of names.filter((name) => !fits(name)).sort((a, b) => a.x - b.x))
    add(text, x, 'end');
  return placed.map(({ text, x, row, anchor }) => ({ text, x, row, anchor }));
}
