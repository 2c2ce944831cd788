/**
 * The key above a chart: each line with its dash, its mark and its name, in as many rows as the width asks
 * for.
 */

import { symbolPath } from './estimator-mark.ts';
import { letterPx, svgElement, textWidth } from './figure.ts';
import type { Inks, LineStyle } from './inks.ts';

export interface KeyEntry {
  readonly label: string;
  readonly ink: keyof Inks;
  readonly dash: string;
  readonly symbol?: LineStyle['symbol'];
  /** Drawn heavier. */
  readonly isOwn?: boolean;
}

const rowPx = 18;

export function chartKey(
  entries: readonly KeyEntry[],
  width: number,
  document: Document,
  inks: Inks,
): { readonly height: number; readonly parts: Node[] } {
  let row = 0;
  let x = 0;
  const parts = entries.map((entry) => {
    const room = 44 + textWidth(entry.label, 1.08 * letterPx) + 18;
    if (x > 0 && x + room > width) {
      row++;
      x = 0;
    }
    const part = keyEntry(entry, x, rowPx * row + 12, document, inks);
    x += room;
    return part;
  });
  return { height: rowPx * (row + 1) + 10, parts };
}

function keyEntry(
  { label, ink, dash, symbol, isOwn = false }: KeyEntry,
  x: number,
  y: number,
  document: Document,
  inks: Inks,
): Node {
  const stroke = inks[ink];
  const mark =
    symbol === undefined
      ? []
      : [
          svgElement(document, 'path', {
            d: symbolPath(symbol, 19, -4, 3.4),
            stroke,
            'stroke-width': 1.5,
            fill: isOwn ? stroke : inks.paper,
          }),
        ];
  return svgElement(
    document,
    'g',
    { transform: `translate(${x} ${y})` },
    svgElement(document, 'path', {
      d: 'M2 -4H36',
      stroke,
      'stroke-width': isOwn ? 2.4 : 1.4,
      ...(dash === 'none' ? {} : { 'stroke-dasharray': dash }),
    }),
    ...mark,
    svgElement(
      document,
      'text',
      { x: 42, y: 0, fill: stroke, ...(isOwn ? { 'font-weight': 'bold' } : {}) },
      label,
    ),
  );
}
