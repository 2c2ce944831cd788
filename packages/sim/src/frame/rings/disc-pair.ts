/**
 * The picture of a filled disc that is not of one size. A lens focuses each color elsewhere, so that most of
 * the light makes one disc and the rest a wider or a narrower one; diffraction adds a skirt or a core of its
 * own. Two discs about one center, of which the unknowns of a ring describe the mean: its radius is that of
 * both by their light, its level that of all the light over a disc of this radius.
 */
import { discSlopes, prepareDiscs } from './disc-light.ts';
import type { PictureModel } from './picture-model.ts';
import type { Disc } from './ring-edge.ts';
import {
  leastRadiusPx,
  ring,
  ringLengths,
  ringLights,
  ringLower,
  ringTraits,
  ringUnknowns,
  ringUpper,
} from './ring-model.ts';

/** The unknowns beside those of a ring, whose hole is not drawn. */
export const pair = {
  /** Share of the light in the second disc. */
  share: ringUnknowns,
  /** Radius of the second disc less that of the first, px. */
  apart: ringUnknowns + 1,
} as const;

export const pairUnknowns = ringUnknowns + 2;

/** The second disc is the one of less light. */
const lower = Float64Array.from([...ringLower, 0, -Infinity]);
const upper = Float64Array.from([...ringUpper, 0.5, Infinity]);
const lengths = [...ringLengths, pair.apart];

/** @param coneTangent  as for a ring */
export function prepareDiscPair(width: number, height: number, coneTangent: number): PictureModel {
  const discs = prepareDiscs(width, height);
  const count = width * height;
  const light = new Float64Array(count);
  const lights = [new Float64Array(count), new Float64Array(count)] as const;
  const by = [discSlopes(count), discSlopes(count)] as const;

  /** Share of the light, radius and its slope by `apart`, of one of the two. */
  const one = (
    u: Float64Array,
    k: 0 | 1,
  ): { share: number; radius: number; perApart: number; disc: Disc } => {
    const second = u[pair.share];
    const perApart = k === 0 ? -second : 1 - second;
    // light that has passed its focus makes a disc again
    const radius = Math.max(leastRadiusPx, Math.abs(u[ring.radius] + perApart * u[pair.apart]));
    const disc = { x: u[ring.x], y: u[ring.y], radius2: radius * radius, blur: u[ring.blur] };
    return { share: k === 0 ? 1 - second : second, radius, perApart, disc };
  };

  const draw = (u: Float64Array): void => {
    light.fill(0);
    for (const k of [0, 1] as const) {
      const { share, radius, disc } = one(u, k);
      discs.draw(lights[k], disc);
      const brightness = share * (u[ring.radius] / radius) ** 2;
      for (let i = 0; i < count; i++) light[i] += brightness * lights[k][i];
    }
  };

  /** What multiplies the light at an offset from the center in radii: the cone, and with the slope. */
  const coneAt = (w: number, v: number): number => 1 / (1 + coneTangent * coneTangent * (w * w + v * v)) ** 2;

  const valuesInto = (out: Float64Array, u: Float64Array): void => {
    draw(u);
    const perRadius = 1 / u[ring.radius];
    for (let y = 0, i = 0; y < height; y++) {
      const v = (y - u[ring.y]) * perRadius;
      for (let x = 0; x < width; x++, i++) {
        const w = (x - u[ring.x]) * perRadius;
        const shade = (1 + u[ring.slopeX] * w + u[ring.slopeY] * v) * coneAt(w, v);
        out[i] = u[ring.background] + u[ring.level] * shade * light[i];
      }
    }
  };

  return {
    traits: ringTraits,
    lower,
    upper,
    lengths,
    lights: ringLights,
    valuesInto,
    slopesInto(out, slopes, u) {
      valuesInto(out, u);
      const mean = u[ring.radius];
      const level = u[ring.level];
      const perRadius = 1 / mean;
      for (const slope of slopes) slope.fill(0);
      for (const k of [0, 1] as const) {
        const { share, radius, perApart, disc } = one(u, k);
        discs.slopes(by[k], disc);
        const turn = mean + perApart * u[pair.apart] < 0 ? -1 : 1;
        const brightness = share * (mean / radius) ** 2;
        const { x, y, radius2, blur } = by[k];
        for (let i = 0; i < count; i++) {
          // slope of the light by the disc's own radius, at the same light
          const byRadius = turn * brightness * (2 * radius * radius2[i] - (2 / radius) * lights[k][i]);
          slopes[ring.x][i] += brightness * x[i];
          slopes[ring.y][i] += brightness * y[i];
          slopes[ring.blur][i] += brightness * blur[i];
          slopes[ring.radius][i] += byRadius + (2 / mean) * brightness * lights[k][i];
          slopes[pair.apart][i] += perApart * byRadius;
          slopes[pair.share][i] +=
            (k === 0 ? -1 : 1) * (mean / radius) ** 2 * lights[k][i] - u[pair.apart] * byRadius;
        }
      }
      const moved = [ring.x, ring.y, ring.blur, ring.radius, pair.apart, pair.share];
      for (let y = 0, i = 0; y < height; y++) {
        const v = (y - u[ring.y]) * perRadius;
        for (let x = 0; x < width; x++, i++) {
          const w = (x - u[ring.x]) * perRadius;
          const cone = coneAt(w, v);
          const shade = (1 + u[ring.slopeX] * w + u[ring.slopeY] * v) * cone;
          for (const unknown of moved) slopes[unknown][i] *= level * shade;
          slopes[ring.level][i] = shade * light[i];
          slopes[ring.background][i] = 1;
          slopes[ring.slopeX][i] = level * light[i] * cone * w;
          slopes[ring.slopeY][i] = level * light[i] * cone * v;
        }
      }
    },
  };
}
