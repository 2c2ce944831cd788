/**
 * The picture that a ring fit compares with a star: a blurred disc of light with a blurred hole in it. Beyond
 * the concentric, evenly lit ring it has four small freedoms, for no real ring is either: the hole may lie
 * off the middle and the light may rise to one side (a comet does both, a clipped beam the second).
 */
import { discSlopes, prepareDiscs } from './disc-light.ts';
import type { PictureModel, PictureTraits } from './picture-model.ts';
import type { Disc } from './ring-edge.ts';

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

export const ringLower = new Float64Array(ringUnknowns).fill(-Infinity);
export const ringUpper = new Float64Array(ringUnknowns).fill(Infinity);
ringLower[ring.radius] = leastRadiusPx;
ringLower[ring.blur] = 0.2;
ringLower[ring.hole] = 0;
ringUpper[ring.hole] = 0.9;
ringLower[ring.level] = 0;
for (const slope of [ring.slopeX, ring.slopeY]) {
  ringLower[slope] = -0.9;
  ringUpper[slope] = 0.9;
}
export const ringLengths = [ring.x, ring.y, ring.radius, ring.blur, ring.holeX, ring.holeY];
export const ringLights = [ring.level, ring.background];

export function ringTraits(u: Float64Array): PictureTraits {
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
 * @param coneTangent tan(asin(1 / 2F)) of the beam, 0 to leave it out: by the sine condition an evenly lit
 *                     pupil makes a ring whose brightness falls outwards as 1 / (1 + (coneTangent r /
 *                     R)^2)^2, 30 % at F/1.2, 2 % at F/5
 */
export function prepareRingModel(width: number, height: number, coneTangent: number): PictureModel {
  const discs = prepareDiscs(width, height);
  const count = width * height;
  const outer = new Float64Array(count);
  const inner = new Float64Array(count);
  const shade = new Float64Array(count);
  const cone = new Float64Array(count);
  const outerBy = discSlopes(count);
  const innerBy = discSlopes(count);

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

  /** A step that is taken was drawn when it was tried. */
  const drawn = new Float64Array(ringUnknowns).fill(Number.NaN);

  const valuesInto = (out: Float64Array, u: Float64Array): void => {
    if (u.some((value, i) => value !== drawn[i])) {
      discs.draw(outer, outerDisc(u));
      discs.draw(inner, innerDisc(u));
      shadeAt(u);
      drawn.set(u);
    }
    const level = u[ring.level];
    const background = u[ring.background];
    for (let k = 0; k < count; k++) out[k] = background + level * shade[k] * (outer[k] - inner[k]);
  };

  return {
    traits: ringTraits,
    lower: ringLower,
    upper: ringUpper,
    lengths: ringLengths,
    lights: ringLights,
    valuesInto,
    slopesInto(out, slopes, u) {
      valuesInto(out, u);
      discs.slopes(outerBy, outerDisc(u));
      discs.slopes(innerBy, innerDisc(u));
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
