/** The brightest star of a frame, large, with its measured ring and positions drawn in. */
import { estimatorNames } from '@holdfast/sim';
import { estimatorLabels, significant } from '@holdfast/sim/internal';
import { type FigureOptions, sheet, svgElement } from '../../figures/figure.ts';
import { lightInks, lineStyle } from '../../figures/inks.ts';
import { estimateText, shown } from '../../figures/number-words.ts';
import type { Cut, FileStar } from '../compute/measure-file.ts';
import { estimatorMark } from './estimator-mark.ts';
import { pixelPlate } from './pixel-plate.ts';

export function starCut(star: FileStar, cut: Cut, options: FigureOptions): SVGSVGElement {
  const { document = globalThis.document, width = 760, inks = lightInks } = options;
  const { ring, positions } = star;
  const side = Math.min(width - 2, 430);
  const scale = side / cut.width;
  const plateHeight = scale * cut.height;
  const isNarrow = width < side + 260;
  const xOf = (x: number) => 1 + scale * (x - cut.left + 0.5);
  const yOf = (y: number) => 1 + scale * (y - cut.top + 0.5);
  const circle = (diameter: number, dash: string) =>
    ring.ok
      ? [4.5, 1.8].map((stroke, i) =>
          svgElement(document, 'circle', {
            cx: xOf(ring.x.value),
            cy: yOf(ring.y.value),
            r: (scale * diameter) / 2,
            fill: 'none',
            stroke: i === 0 ? inks.paper : inks.accent,
            'stroke-opacity': i === 0 ? 0.7 : 1,
            'stroke-width': stroke,
            'stroke-dasharray': dash,
          }),
        )
      : [];
  const key = { x: isNarrow ? 4 : side + 28, y: isNarrow ? plateHeight + 28 : 18 };
  const words = [
    ...(ring.ok
      ? [
          `outer diameter ${estimateText(ring.outerDiameterPx, 'px')}`,
          ring.holeResolved ? `hole ${estimateText(ring.innerDiameterPx, 'px')}` : 'the hole is not resolved',
        ]
      : [`no ring was measured: ${ring.reason}`]),
  ];
  const measured = positions.filter(({ x }) => x !== undefined);
  return sheet(
    options,
    {
      width,
      height: Math.max(plateHeight + 2, key.y + 22 * (words.length + positions.length + 1)),
      alternative: alternativeOf(star),
    },
    svgElement(
      document,
      'g',
      { transform: `translate(1 1) scale(${scale})` },
      pixelPlate(cut, inks.ink, document),
    ),
    svgElement(document, 'rect', {
      x: 1,
      y: 1,
      width: side,
      height: plateHeight,
      fill: 'none',
      stroke: inks.ink,
    }),
    ...(ring.ok ? circle(ring.outerDiameterPx.value, 'none') : []),
    ...(ring.ok && ring.holeResolved ? circle(ring.innerDiameterPx.value, '5 4') : []),
    ...measured.map(({ estimator, x = 0, y = 0 }) =>
      estimatorMark(estimator, xOf(x), yOf(y), 3.5, document, inks),
    ),
    ...words.map((line, i) =>
      svgElement(
        document,
        'text',
        { x: key.x, y: key.y + 22 * i, fill: ring.ok ? inks.accent : inks.ink },
        line,
      ),
    ),
    ...positions.flatMap((position, i) => {
      const y = key.y + 22 * (words.length + i) + 10;
      const ink = inks[lineStyle(estimatorNames.indexOf(position.estimator)).ink];
      return [
        estimatorMark(position.estimator, key.x + 7, y - 4, 4.5, document, inks),
        svgElement(
          document,
          'text',
          { x: key.x + 24, y, fill: ink },
          `${estimatorLabels[position.estimator]}${position.reason === undefined ? '' : `: ${position.reason}`}`,
        ),
      ];
    }),
  );
}

function alternativeOf({ x, y, snr, ring, positions }: FileStar): string {
  const told = positions.map((position) =>
    position.x === undefined || position.y === undefined
      ? `${estimatorLabels[position.estimator]} none (${position.reason})`
      : `${estimatorLabels[position.estimator]} x ${position.x.toFixed(3)}, y ${position.y.toFixed(3)}`,
  );
  const shape = ring.ok
    ? `Ring of outer diameter ${estimateText(ring.outerDiameterPx, 'px')}, hole ${estimateText(ring.innerDiameterPx, 'px')}, blur ${estimateText(ring.blurFwhmPx, 'px')}.`
    : `No ring: ${ring.reason}.`;
  return shown(
    `The brightest star, at x ${x.toFixed(1)}, y ${y.toFixed(1)}, SNR ${significant(snr, 3)}. ${shape} ${told.join('; ')}.`,
  );
}
