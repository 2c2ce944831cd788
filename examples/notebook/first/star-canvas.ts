/** The star as the camera sees it, on a canvas: pixels in ink on paper, all to one scale. */
import type { StarFrame } from '../compute/star-frame.ts';
import { element } from '../element.ts';

export interface StarCanvas {
  readonly element: HTMLElement;
  /** Side of the square that is shown, px of the camera. */
  sidePx: number;
  draw(frame: StarFrame, words: string): void;
}

/** Side of the picture on the page, CSS px. */
const canvasSide = 240;

export function starCanvas(caption: string): StarCanvas {
  const canvas = element('canvas', { role: 'img', width: String(canvasSide), height: String(canvasSide) });
  const box = element('div', { class: 'star-now' }, canvas, element('p', {}, caption));
  let last: StarFrame | undefined;
  const paint = () => {
    if (last !== undefined) draw(canvas, last, made.sidePx);
  };
  // Ink and paper are those of the theme.
  new MutationObserver(paint).observe(document.documentElement, { attributes: true });
  matchMedia('(prefers-color-scheme: dark)').addEventListener('change', paint);
  const made: StarCanvas = {
    element: box,
    sidePx: 60,
    draw(frame, words) {
      last = frame;
      canvas.setAttribute('aria-label', words);
      paint();
    },
  };
  return made;
}

function draw(canvas: HTMLCanvasElement, frame: StarFrame, sidePx: number): void {
  const context = canvas.getContext('2d');
  if (context === null) return;
  const { width, height, pixels, x, y } = frame;
  const style = getComputedStyle(canvas);
  const ink = rgbOf(style.color);
  const paper = rgbOf(style.backgroundColor);
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
