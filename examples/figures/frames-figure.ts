/**
 * The picture of a measured star: a negative plate with its ring, its positions beside it, and of a sequence
 * its path.
 */
import {
  type EstimatorName,
  estimatorNames,
  type FrameCamera,
  type FrameImage,
  type MeasuredStar,
  type Rig,
  type SequenceResult,
} from '@holdfast/sim';
import { estimatorLabels, significant, withError } from '@holdfast/sim/internal';
import { type Attributes, type FigureOptions, sheet, svgElement } from './figure.ts';
import { pathPanel } from './frames-path.ts';
import { type Plate, plateOf, ringOutlines } from './frames-plate.ts';
import { type Inks, lightInks } from './inks.ts';
import { shown } from './number-words.ts';
import { platePicture } from './star-sheet/plate-picture.ts';

export interface FramesFigure {
  readonly title: string;
  readonly frame: FrameImage;
  readonly star: MeasuredStar;
  /** Absent where the telescope of the frame is not known. */
  readonly rig?: Rig;
  readonly camera: FrameCamera;
  readonly sequence?: SequenceResult;
}

const platePx = 380;
const tickPx = 10;
const gapPx = 44;
const panelPx = 420;
const small = 11.5;

export function framesFigure(figure: FramesFigure, options: FigureOptions = {}): SVGSVGElement {
  const { document = globalThis.document, inks = lightInks } = options;
  const { title, star, rig, sequence, camera } = figure;
  const { gainEPerAdu, offsetAdu = 0, pixelSizeUm } = camera.measure;
  const estimator = rig?.tracking.estimator ?? 'thresholdedCenterOfMass';
  const plate = plateOf(figure.frame, star, star.backgroundE.value / gainEPerAdu + offsetAdu);
  const top = 46;
  const width = tickPx + platePx + gapPx + panelPx;
  const text = (x: number, y: number, words: string, attributes: Attributes = {}) =>
    svgElement(document, 'text', { x, y, ...attributes }, words);
  const parts: Node[] = [
    svgElement(document, 'rect', { width, height: 3, fill: inks.ink }),
    text(0, 30, title, { 'font-size': 19 }),
    text(width, 30, rig?.name ?? '', { 'font-size': small, fill: inks.faint, 'text-anchor': 'end' }),
    svgElement(
      document,
      'g',
      { transform: `translate(${tickPx} ${top + tickPx})` },
      ...platePart(plate, star, estimator, document, inks),
    ),
    svgElement(
      document,
      'g',
      { transform: `translate(${tickPx + platePx + gapPx} ${top + tickPx})` },
      ...positionsPanel(star, estimator, document, inks),
    ),
  ];
  const captions = captionsOf(star);
  captions.forEach((line, n) => {
    parts.push(text(tickPx, top + tickPx + platePx + 22 + 16 * n, shown(line), { 'font-size': small }));
  });
  let height = top + tickPx + platePx + 22 + 16 * captions.length;
  if (sequence !== undefined && rig !== undefined && pixelSizeUm !== undefined) {
    const arcsecPerPx = (206.264806 * pixelSizeUm) / rig.telescope.focalLengthMm;
    const panel = pathPanel({ estimator, arcsecPerPx }, sequence, width, document, inks);
    if (panel !== undefined) {
      parts.push(svgElement(document, 'g', { transform: `translate(0 ${height + 6})` }, ...panel.parts));
      height += 6 + panel.height;
    }
  }
  return sheet(
    { document, inks, paper: true },
    { width, height, alternative: `${title}: the star as a negative plate. ${captions.join(' ')}` },
    ...parts,
  );
}

function platePart(
  plate: Plate,
  star: MeasuredStar,
  estimator: EstimatorName,
  document: Document,
  inks: Inks,
): SVGElement[] {
  const scale = platePx / plate.side;
  const at = (px: number, from: number) => round(scale * (px - from + 0.5));
  const position = star.positions[estimator];
  const ticks = position.ok
    ? [
        line(document, at(position.x, plate.left), -tickPx, 0, tickPx - 2, inks.accent),
        line(document, -tickPx, at(position.y, plate.top), tickPx - 2, 0, inks.accent),
      ]
    : [];
  return [
    svgElement(document, 'image', {
      width: platePx,
      height: platePx,
      href: platePicture(plate.density, plate.side, inks.ink),
      'image-rendering': 'pixelated',
    }),
    ...ringOutlines(star).flatMap(({ x, y, radius, dashed }) => {
      const circle = (look: Attributes) =>
        svgElement(document, 'circle', {
          cx: at(x, plate.left),
          cy: at(y, plate.top),
          r: round(scale * radius),
          fill: 'none',
          ...(dashed ? { 'stroke-dasharray': '5 4' } : {}),
          ...look,
        });
      // paper beneath the line, for it to show on ink
      return [
        circle({ stroke: inks.paper, 'stroke-width': 3, 'stroke-opacity': 0.65 }),
        circle({ stroke: inks.accent, 'stroke-width': 1.3 }),
      ];
    }),
    svgElement(document, 'rect', {
      width: platePx,
      height: platePx,
      fill: 'none',
      stroke: inks.ink,
      'stroke-width': 0.8,
    }),
    ...ticks,
    ...scaleBar(plate.side, document, inks),
  ];
}

function scaleBar(side: number, document: Document, inks: Inks): SVGElement[] {
  const length = [1, 2, 5, 10, 20, 50, 100, 200].findLast((px) => px <= side / 4) ?? 1;
  const right = platePx - 10;
  const left = round(right - (length * platePx) / side);
  return [
    svgElement(document, 'rect', {
      x: left - 4,
      y: platePx - 28,
      width: right - left + 8,
      height: 23,
      fill: inks.paper,
      'fill-opacity': 0.8,
    }),
    svgElement(document, 'path', {
      d: `M${left} ${platePx - 10}H${right}`,
      stroke: inks.ink,
      'stroke-width': 1.6,
    }),
    svgElement(
      document,
      'text',
      { x: round((left + right) / 2), y: platePx - 15, 'text-anchor': 'middle', 'font-size': small },
      `${length}\u00a0px`,
    ),
  ];
}

/** Each estimator's x and y from those of the rig's own, with their stated errors. */
function positionsPanel(
  star: MeasuredStar,
  estimator: EstimatorName,
  document: Document,
  inks: Inks,
): SVGElement[] {
  const found = estimatorNames.map((name) => ({ name, position: star.positions[name] }));
  const own = star.positions[estimator];
  const reference = own.ok ? own : found.find(({ position }) => position.ok)?.position;
  const text = (x: number, y: number, words: string, attributes: Attributes = {}) =>
    svgElement(document, 'text', { x, y, 'font-size': small, ...attributes }, words);
  const parts: SVGElement[] = [
    text(0, 4, 'Position by every method', { 'font-size': 14, 'font-style': 'italic' }),
  ];
  if (reference === undefined || !reference.ok) return [...parts, text(0, 28, 'none gives one')];
  let widest = 0.01;
  for (const { position } of found)
    if (position.ok)
      widest = Math.max(
        widest,
        Math.abs(position.x - reference.x) + (position.sigmaX ?? 0),
        Math.abs(position.y - reference.y) + (position.sigmaY ?? 0),
      );
  const half = 46;
  const firstCenter = 216;
  const secondCenter = firstCenter + 2 * half + 46;
  const rowPx = 40;
  const columns = [
    {
      axis: 'x',
      center: firstCenter,
      of: (at: { x: number }) => at.x,
      sigma: (at: { sigmaX?: number }) => at.sigmaX,
    },
    {
      axis: 'y',
      center: secondCenter,
      of: (at: { y: number }) => at.y,
      sigma: (at: { sigmaY?: number }) => at.sigmaY,
    },
  ] as const;
  const bottom = 40 + rowPx * found.length;
  for (const { axis, center } of columns) {
    parts.push(
      text(center, 28, axis, { 'text-anchor': 'middle', 'font-style': 'italic' }),
      svgElement(document, 'path', { d: `M${center} 36V${bottom}`, stroke: inks.rule, 'stroke-width': 1 }),
      svgElement(document, 'path', {
        d: `M${center - half} ${bottom}H${center + half}`,
        stroke: inks.rule,
        'stroke-width': 1,
      }),
      text(center - half, bottom + 14, shown(`-${significant(widest, 2)}`), {
        'text-anchor': 'middle',
        fill: inks.faint,
      }),
      text(center + half, bottom + 14, shown(significant(widest, 2)), {
        'text-anchor': 'middle',
        fill: inks.faint,
      }),
    );
  }
  found.forEach(({ name, position }, k) => {
    const y = 54 + rowPx * k;
    const isOwn = name === estimator;
    parts.push(
      text(0, y + 1, estimatorLabels[name], isOwn ? { fill: inks.accent, 'font-weight': 'bold' } : {}),
    );
    if (!position.ok) {
      parts.push(
        text(columns[0].center, y + 4, position.reason, { 'text-anchor': 'middle', fill: inks.faint }),
      );
      return;
    }
    const told = `${withError({ value: position.x, standardError: position.sigmaX ?? 0 })}, ${withError({ value: position.y, standardError: position.sigmaY ?? 0 })}`;
    parts.push(text(0, y + 15, shown(told), { 'font-size': 10, fill: inks.faint }));
    for (const { center, of, sigma } of columns) {
      const x = round(center + (half * (of(position) - of(reference))) / widest);
      const bar = round((half * (sigma(position) ?? 0)) / widest);
      const ink = isOwn ? inks.accent : inks.ink;
      parts.push(
        svgElement(document, 'path', { d: `M${x - bar} ${y}h${2 * bar}`, stroke: ink, 'stroke-width': 1.2 }),
        svgElement(document, 'circle', { cx: x, cy: y, r: 3, fill: ink }),
      );
    }
  });
  parts.push(
    text(
      0,
      bottom + 34,
      `px from ${own.ok ? `the ${estimatorLabels[estimator]}` : 'the first that gives one'}; bars are the stated errors`,
      { fill: inks.faint },
    ),
  );
  return parts;
}

function captionsOf({ ring, light, snr, coma }: MeasuredStar): string[] {
  const { fromMoments, fromHole } = coma;
  const best = fromHole ?? fromMoments;
  return [
    ring.ok
      ? `Ring by fit, drawn over the plate: outer ${withError(ring.outerDiameterPx)} px${ring.holeResolved ? `, inner ${withError(ring.innerDiameterPx)} px, obstruction ${withError(ring.obstructionRatio)}` : ''}, blur ${withError(ring.blurFwhmPx)} px.`
      : `No ring was measured (${ring.reason}).`,
    ...(ring.ok && ring.absFocusShiftUm
      ? [`Focus shift ${withError(ring.absFocusShiftUm)} µm, on either side of focus.`]
      : []),
    `SNR ${significant(snr, 3)}${light ? `, half-light diameter ${withError(light.halfFluxDiameterPx)} px` : ''}${
      best
        ? `; sagittal coma ${withError(best.sagittalComaPx)} px${best.angleDeg ? ` toward ${withError(best.angleDeg)}°` : ''}`
        : ''
    }.`,
    'Ink is the square root of the light above the background; ticks: the position by the method of the rig.',
  ];
}

function line(document: Document, x: number, y: number, dx: number, dy: number, stroke: string): SVGElement {
  return svgElement(document, 'path', { d: `M${x} ${y}l${dx} ${dy}`, stroke, 'stroke-width': 1.6 });
}

const round = (px: number): number => Number(px.toFixed(2));
