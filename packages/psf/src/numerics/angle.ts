/**
 * Angles and phases, the same to the last bit in every engine: only + - * /, square roots and Math.floor.
 *
 * A phase in turns is reduced exactly to an eighth of a turn and the Taylor series of cosine and sine are
 * summed there; the first terms left out are below 1e-19. Each part is good to 4e-16 for |t| <= 1, and beyond
 * that as good as t itself is.
 */

/** Seconds of arc per radian: 206264.8. */
export const arcsecPerRadian = (180 * 3600) / Math.PI;

/**
 * Write the cosine and sine of `turns` turns to out[at] and out[at + 1]. `turns` must be finite, below 2^50.
 */
export function writePhasor(out: Float64Array, at: number, turns: number): void {
  // Nearest quarter turn; what is left lies within an eighth of a turn.
  const quarters = Math.floor(4 * turns + 0.5);
  const angle = twoPi * (turns - 0.25 * quarters);
  const s = angle * angle;
  // Written out: loops over the series take a fifth longer.
  const cosine = c0 + s * (c1 + s * (c2 + s * (c3 + s * (c4 + s * (c5 + s * (c6 + s * (c7 + s * c8)))))));
  const sine =
    angle * (s0 + s * (s1 + s * (s2 + s * (s3 + s * (s4 + s * (s5 + s * (s6 + s * (s7 + s * s8))))))));
  const quadrant = quarters - 4 * Math.floor(0.25 * quarters);
  if (quadrant === 0) {
    out[at] = cosine;
    out[at + 1] = sine;
  } else if (quadrant === 1) {
    out[at] = -sine;
    out[at + 1] = cosine;
  } else if (quadrant === 2) {
    out[at] = -cosine;
    out[at + 1] = -sine;
  } else {
    out[at] = sine;
    out[at + 1] = -cosine;
  }
}

const twoPi = 2 * Math.PI;

/** 1, -1/2!, 1/4!, ... and 1, -1/3!, 1/5!, ...: nine terms each. */
const [c0, c1, c2, c3, c4, c5, c6, c7, c8] = alternatingReciprocalFactorials(0);
const [s0, s1, s2, s3, s4, s5, s6, s7, s8] = alternatingReciprocalFactorials(1);

function alternatingReciprocalFactorials(first: number): Float64Array {
  const series = new Float64Array(9);
  for (let k = 0, factorial = 1; k < series.length; k++) {
    if (k > 0) factorial *= (2 * k + first - 1) * (2 * k + first);
    series[k] = (k % 2 === 0 ? 1 : -1) / factorial;
  }
  return series;
}

const part = new Float64Array(2);

/** Cosine (x) and sine (y) of an angle in degrees, to 4e-16 within a turn; exact at multiples of 90. */
export function unitVector(angleDeg: number): { readonly x: number; readonly y: number } {
  writePhasor(part, 0, angleDeg / 360);
  return { x: part[0], y: part[1] };
}

/**
 * Angle from the direction (ax, ay) to (bx, by), rad, in [-pi, pi], > 0 from +x toward +y; 0 when either has
 * no length. The tangent of a quarter of a right angle's part is found by halving, and its arctangent by the
 * series to t^19.
 */
export function angleFrom(ax: number, ay: number, bx: number, by: number): number {
  const cross = ax * by - ay * bx;
  const dot = ax * bx + ay * by;
  const length = Math.sqrt(cross * cross + dot * dot);
  if (length === 0) return 0;
  let tangent = Math.abs(cross) / (length + Math.abs(dot));
  let halvings = 2;
  for (; halvings < 16; halvings *= 2) tangent /= 1 + Math.sqrt(1 + tangent * tangent);
  const square = tangent * tangent;
  let series = 0;
  for (let n = 19; n > 0; n -= 2) series = 1 / n - square * series;
  const acute = halvings * tangent * series;
  const angle = dot >= 0 ? acute : Math.PI - acute;
  return cross >= 0 ? angle : -angle;
}
