/** The star as the camera sees it, on a canvas: pixels in ink on paper, all to one scale. */
import type { StarFrame } from '../compute/star-frame.ts';
import { element } from '../element.ts';

export interface StarCanvas {
  readonly element: HTMLElement;
  /** Side of the square that is shown, px of the camera. */
  sidePx: number;
  draw(frame: StarFrame, words: string, sidePx: number): void;
}

/** Side of the picture on the page, CSS px. */
const canvasSide = 240;

export function starCanvas(caption: string): StarCanvas {
  const canvas = element('canvas', { role: 'img', width: String(canvasSide), height: String(canvasSide) });
  const box = element('div', { class: 'star-now' }, canvas, element('p', {}, caption));
  let last: StarFrame | undefined;
  let colors: Colors | undefined;
  const paint = () => {
    if (last === undefined) return;
    // Asked for once: the answer would have the browser style the page anew at every frame.
    colors ??= colorsOf(canvas);
    draw(canvas, last, made.sidePx, colors);
  };
  // Ink and paper are those of the theme.
  const paintAnew = () => {
    colors = undefined;
    paint();
  };
  new MutationObserver(paintAnew).observe(document.documentElement, { attributes: true });
  matchMedia('(prefers-color-scheme: dark)').addEventListener('change', paintAnew);
  const made: StarCanvas = {
    element: box,
    sidePx: 60,
    draw(frame, words, sidePx) {
      canvas.setAttribute('aria-label', words);
      if (frame === last && sidePx === made.sidePx) return;
      last = frame;
      made.sidePx = sidePx;
      paint();
    },
  };
  return made;
}

interface Colors {
  readonly ink: readonly number[];
  readonly paper: readonly number[];
}

function colorsOf(canvas: HTMLCanvasElement): Colors {
  const style = getComputedStyle(canvas);
  return { ink: rgbOf(style.color), paper: rgbOf(style.backgroundColor) };
}

function draw(canvas: HTMLCanvasElement, frame: StarFrame, sidePx: number, { ink, paper }: Colors): void {
  const context = canvas.getContext('2d');
  if (context === null) return;
  const { width, height, pixels, x, y } = frame;
  const image = new ImageData(width, height);
  const sorted = Float64Array.from(pixels).sort();
  const low = sorted[Math.floor(sorted.length / 10)];
  const full = Math.max(sorted[sorted.length - 1] - low, Number.MIN_VALUE);
  for (let k = 0; k < pixels.length; k++) {
    const share = Math.min(1, Math.max(0, (pixels[k] - low) / full));
    for (let c = 0; c < 3; c++) image.data[4 * k + c] = paper[c] + share * (ink[c] - paper[c]);
    image.data[4 * k + 3] = 255;
  }
  const small = new OffscreenCanvas(width, height);
  small.getContext('2d')?.putImageData(image, 0, 0);
  const scale = canvasSide / sidePx;
  context.imageSmoothingEnabled = false;
  context.clearRect(0, 0, canvasSide, canvasSide);
  context.drawImage(
    small,
    canvasSide / 2 - scale * (x + 0.5),
    canvasSide / 2 - scale * (y + 0.5),
    scale * width,
    scale * height,
  );
}

const rgbOf = (color: string): number[] =>
  (color.match(/[\d.]+/g) ?? ['0', '0', '0']).slice(0, 3).map(Number);

/**
 * A square that holds a ring with room to spare, in few steps, so that it does not change with every pixel.
 */
export function sideFor(ringPx: number): number {
  return [24, 36, 54, 80, 120, 180, 270, 400].find((side) => side >= 1.35 * ringPx + 8) ?? 400;
}

/**
 * Let the ring's edge be dragged: from anywhere on the picture, the distance to the star is the ring's
 * radius.
 */
export function dragEdge(canvas: StarCanvas, take: (ringPx: number) => void): void {
  const picture = canvas.element.querySelector('canvas') as HTMLCanvasElement;
  picture.classList.add('can-be-dragged');
  const move = (event: PointerEvent) => {
    const { left, top, width } = picture.getBoundingClientRect();
    const radius = Math.hypot(event.clientX - left - width / 2, event.clientY - top - width / 2);
    take(Math.round((20 * radius * canvas.sidePx) / width) / 10);
  };
  picture.addEventListener('pointerdown', (event) => {
    event.preventDefault();
    picture.setPointerCapture(event.pointerId);
    move(event);
    picture.addEventListener('pointermove', move);
  });
  for (const end of ['pointerup', 'pointercancel'] as const)
    picture.addEventListener(end, () => picture.removeEventListener('pointermove', move));
}
