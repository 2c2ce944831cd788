/** The scene's star drawn at the same few places again and again, for scenes that differ in light alone. */
import type { StarPlan } from '@holdfast/psf';
import { prepareScene, type Scene } from './scene.ts';

/** Overwrites `out` with the star of a flux at a place of the scene's stamp. */
export type DrawStar = (out: Float64Array, x: number, y: number, flux: number) => void;

interface Kept {
  readonly plan: StarPlan;
  /** Drawn stars of flux 1 by place. */
  readonly drawn: Map<string, Float64Array>;
}

/** The shapes and sizes that came last. */
const kept = new Map<string, Kept>();
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
 * `prepareScene`, with one and the same plan for all scenes of a star's shape: what others make of it, as the
 * table of a template, is made once.
 */
export const keptPlan = (scene: Scene): StarPlan => keptOf(scene).plan;

/**
 * `prepareScene` with what was drawn kept: exposures, brighter stars and other ways of measuring share their
 * star's shape, and drawing a comet takes longer than all the rest.
 */
export function prepareKeptScene(scene: Scene): DrawStar {
  const { width, height } = scene;
  const { plan, drawn } = keptOf(scene);
  if (width * height > mostPixels) return (out, x, y, flux) => void plan.renderInto(out, x, y, flux);
  return (out, x, y, flux) => {
    const place = `${x - scene.column}/${y - scene.row}`;
    let star = drawn.get(place);
    if (star === undefined) {
      star = new Float64Array(width * height);
      plan.renderInto(star, x, y, 1);
      if (drawn.size < mostPlaces) drawn.set(place, star);
    }
    for (let k = 0; k < star.length; k++) out[k] = flux * star[k];
  };
}

function keptOf(scene: Scene): Kept {
  const { width, height } = scene;
  const key = JSON.stringify([scene.shape, scene.lightOffsetPx, width, height], byIdentity);
  const found = kept.get(key) ?? { plan: prepareScene(scene), drawn: new Map() };
  // The one that came last goes to the end; the one that waited longest goes.
  kept.delete(key);
  kept.set(key, found);
  for (const oldest of kept.keys()) {
    if (kept.size <= mostShapes) break;
    kept.delete(oldest);
  }
  return found;
}
