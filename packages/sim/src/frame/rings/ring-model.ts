/**
 * The picture that a ring fit compares with a star: a blurred disc of light with a blurred hole in it. Beyond
 * the concentric, evenly lit ring it has four small freedoms, for no real ring is either: the hole may lie
 * off the middle and the light may rise to one side (a comet does both, a clipped beam the second).
 */
import { prepareStar } from '@holdfast/psf';
import type { PictureModel, PictureTraits } from './picture-model.ts';
import { type Disc, type DiscSlopes, edgeSlopes, leastBlurOfForm } from './ring-edge.ts';

/** Places of the unknowns in the vector of a fit. */
export const ring = {
  /** Center of the outer circle, px. */
  x: 0,
  y: 1,
  /** Outer radius, px. */
  radius: 2,
  /**
   * Area of the hole over that of the outer circle: the square of the obstruction ratio, linear in the light
   * it takes.
   */
  hole: 3,
  /** FWHM of the blur, px. */
  blur: 4,
  /** Surface brightness before blur, electrons per pixel. */
  level: 5,
  /** Electrons per pixel beside the star. */
  background: 6,
  /** Center of the hole from the center of the outer circle, px. */
  holeX: 7,
  holeY: 8,
  /** Rise of the brightness from the center to the rim, as a fraction of the level. */
  slopeX: 9,
  slopeY: 10,
} as const;

export const ringUnknowns = 11;

export const leastRadiusPx = 0.3;

const lower = new Float64Array(ringUnknowns).fill(-Infinity);
const upper = new Float64Array(ringUnknowns).fill(Infinity);
lower[ring.radius] = leastRadiusPx;
lower[ring.blur] = 0.2;
lower[ring.hole] = 0;
upper[ring.hole] = 0.9;
lower[ring.level] = 0;
for (const slope of [ring.slopeX, ring.slopeY]) {
  lower[slope] = -0.9;
  upper[slope] = 0.9;
}
const lengths = [ring.x, ring.y, ring.radius, ring.blur, ring.holeX, ring.holeY];
const lights = [ring.level, ring.background];

function traits(u: Float64Array): PictureTraits {
  const radius = u[ring.radius];
  const blurPx = u[ring.blur];
  return {
    background: u[ring.background],
    level: u[ring.level],
    blurPx,
    areaPx2: Math.PI * radius * radius * (1 - u[ring.hole]),
    reachPx: Math.max(radius, blurPx),
    isPoint: 2 * radius < blurPx,
  };
}

/**
 * Step of the central differences, px: the discs are right to 1e-8 of their flux, so noise of 1e-5 of the
 * level.
 */
const step = 0.02;

/**
 * Slopes are in closed form, of a blur below 1.5 px central differences.
 *
 * @param coneTangent tan(asin(1 / 2F)) of the beam, 0 to leave it out: by the sine condition an evenly lit
 *                     pupil makes a ring whose brightness falls outwards as 1 / (1 + (coneTangent r /
 *                     R)^2)^2, 30 % at F/1.2, 2 % at F/5
 */
export function prepareRingModel(width: number, height: number, coneTangent: number): PictureModel {
  const size = { width, height };
  const count = width * height;
  const outer = new Float64Array(count);
  const inner = new Float64Array(count);
  const shade = new Float64Array(count);
  const cone = new Float64Array(count);
  const outerBy = discSlopes(count);
  const innerBy = discSlopes(count);
  const low = new Float64Array(count);

  const draw = (out: Float64Array, { x, y, radius2, blur }: Disc): void => {
    const outerDiameterPx = 2 * Math.sqrt(radius2);
    const shape = { kind: 'annulus', outerDiameterPx, obstructionRatio: 0, blurFwhmPx: blur } as const;
    prepareStar(shape, size).renderInto(out, x, y, Math.PI * radius2);
  };

  const difference = (out: Float64Array, above: Disc, below: Disc, span: number): void => {
    draw(out, above);
    draw(low, below);
    for (let k = 0; k < count; k++) out[k] = (out[k] - low[k]) / span;
  };

  const differences = (by: DiscSlopes, disc: Disc): void => {
    const { x, y, radius2, blur } = disc;
    if (blur >= leastBlurOfForm) {
      edgeSlopes(by, width, height, disc);
      return;
    }
    difference(by.x, { ...disc, x: x + step }, { ...disc, x: x - step }, 2 * step);
    difference(by.y, { ...disc, y: y + step }, { ...disc, y: y - step }, 2 * step);
    difference(by.blur, { ...disc, blur: blur + step }, { ...disc, blur: blur - step }, 2 * step);
    const grown = radius2 + step * (2 * Math.sqrt(radius2) + step);
    const shrunk = Math.max(0, 2 * radius2 - grown);
    difference(by.radius2, { ...disc, radius2: grown }, { ...disc, radius2: shrunk }, grown - shrunk);
  };

  const outerDisc = (u: Float64Array): Disc => ({
    x: u[ring.x],
    y: u[ring.y],
    radius2: u[ring.radius] * u[ring.radius],
    blur: u[ring.blur],
  });
  const innerDisc = (u: Float64Array): Disc => ({
    x: u[ring.x] + u[ring.holeX],
    y: u[ring.y] + u[ring.holeY],
    radius2: u[ring.hole] * u[ring.radius] * u[ring.radius],
    blur: u[ring.blur],
  });

  /** Fill `cone` and `shade` with what multiplies the discs beside the level. */
  const shadeAt = (u: Float64Array): void => {
    const x0 = u[ring.x];
    const y0 = u[ring.y];
    const perRadius = 1 / u[ring.radius];
    const tangent2 = coneTangent * coneTangent;
    for (let y = 0, k = 0; y < height; y++) {
      const v = (y - y0) * perRadius;
      for (let x = 0; x < width; x++, k++) {
        const w = (x - x0) * perRadius;
        const thinned = 1 / (1 + tangent2 * (w * w + v * v));
        cone[k] = thinned * thinned;
        shade[k] = (1 + u[ring.slopeX] * w + u[ring.slopeY] * v) * cone[k];
      }
    }
  };

  const valuesInto = (out: Float64Array, u: Float64Array): void => {
    draw(outer, outerDisc(u));
    draw(inner, innerDisc(u));
    shadeAt(u);
    const level = u[ring.level];
    const background = u[ring.background];
    for (let k = 0; k < count; k++) out[k] = background + level * shade[k] * (outer[k] - inner[k]);
  };

  return {
    traits,
    lower,
    upper,
    lengths,
    lights,
    valuesInto,
    slopesInto(out, slopes, u) {
      valuesInto(out, u);
      differences(outerBy, outerDisc(u));
      differences(innerBy, innerDisc(u));
      const level = u[ring.level];
      const radius = u[ring.radius];
      const hole = u[ring.hole];
      const perRadius = 1 / radius;
      for (let y = 0, k = 0; y < height; y++) {
        const v = (y - u[ring.y]) * perRadius;
        for (let x = 0; x < width; x++, k++) {
          const w = (x - u[ring.x]) * perRadius;
          const bright = level * shade[k];
          const light = outer[k] - inner[k];
          // the shade moves with the ring, but so little over a pixel that a step need not know it
          slopes[ring.x][k] = bright * (outerBy.x[k] - innerBy.x[k]);
          slopes[ring.y][k] = bright * (outerBy.y[k] - innerBy.y[k]);
          slopes[ring.radius][k] = bright * 2 * radius * (outerBy.radius2[k] - hole * innerBy.radius2[k]);
          slopes[ring.hole][k] = -bright * radius * radius * innerBy.radius2[k];
          slopes[ring.blur][k] = bright * (outerBy.blur[k] - innerBy.blur[k]);
          slopes[ring.level][k] = shade[k] * light;
          slopes[ring.background][k] = 1;
          slopes[ring.holeX][k] = -bright * innerBy.x[k];
          slopes[ring.holeY][k] = -bright * innerBy.y[k];
          const tilt = level * light * cone[k];
          slopes[ring.slopeX][k] = tilt * w;
          slopes[ring.slopeY][k] = tilt * v;
        }
      }
    },
  };
}

function discSlopes(count: number): DiscSlopes {
  const values = (): Float64Array => new Float64Array(count);
  return { x: values(), y: values(), radius2: values(), blur: values() };
}
