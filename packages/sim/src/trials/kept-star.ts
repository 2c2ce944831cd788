/** The scene's star drawn at the same few places again and again, for scenes that differ in light alone. */
import type { StarPlan } from '@holdfast/psf';
import { prepareScene, type Scene } from './scene.ts';

/** Overwrites `out` with the star of a flux at a place of the scene's stamp. */
export type DrawStar = (out: Float64Array, x: number, y: number, flux: number) => void;

/** Drawn stars of flux 1 by place, for the shapes and sizes that came last. */
const kept = new Map<string, Map<string, Float64Array>>();
const mostShapes = 6;
const mostPlaces = 64;
/** Larger stamps are drawn anew, px. */
const mostPixels = 2 ** 15;

/** Shapes that are drawn by code of a user's: two of them differ, whatever their names say. */
const numbers = new WeakMap<object, number>();
let numbered = 0;

function byIdentity(_: string, value: unknown): unknown {
  if (typeof value !== 'object' || value === null || (value as { kind?: unknown }).kind !== 'own')
    return value;
  const number = numbers.get(value) ?? ++numbered;
  numbers.set(value, number);
  return { own: number };
}

/**
 * `prepareScene` with what was drawn kept: exposures, brighter stars and other ways of measuring share their
 * star's shape, and drawing a comet takes longer than all the rest.
 */
export function prepareKeptScene(scene: Scene): DrawStar {
  const { width, height } = scene;
  let plan: StarPlan | undefined;
  const draw: DrawStar = (out, x, y, flux) => {
    plan ??= prepareScene(scene);
    plan.renderInto(out, x, y, flux);
  };
  if (width * height > mostPixels) return draw;
  const key = JSON.stringify([scene.shape, scene.lightOffsetPx, width, height], byIdentity);
  const drawn = kept.get(key) ?? new Map<string, Float64Array>();
  // The one that came last goes to the end; the one that waited longest goes.
  kept.delete(key);
  kept.set(key, drawn);
  for (const oldest of kept.keys()) {
    if (kept.size <= mostShapes) break;
    kept.delete(oldest);
  }
  return (out, x, y, flux) => {
    const place = `${x - scene.column}/${y - scene.row}`;
    let star = drawn.get(place);
    if (star === undefined) {
      star = new Float64Array(width * height);
      draw(star, x, y, 1);
      if (drawn.size < mostPlaces) drawn.set(place, star);
    }
    for (let k = 0; k < star.length; k++) out[k] = flux * star[k];
  };
}
