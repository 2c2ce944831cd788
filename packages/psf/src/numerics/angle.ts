/** Angles with the same last bit in every engine: only + - * / and square roots. */

/** Cosine (x) and sine (y) of an angle in degrees, to 2e-16; exact at multiples of 90. */
export function unitVector(angleDeg: number): { readonly x: number; readonly y: number } {
  const quarters = Math.floor(angleDeg / 90 + 0.5);
  const angle = (angleDeg - 90 * quarters) * (Math.PI / 180);
  const s = angle * angle;
  // Taylor series within an eighth of a turn; the first terms left out are below 1e-18.
  let cosine = 1;
  for (let k = 18; k > 0; k -= 2) cosine = 1 - (s * cosine) / (k * (k - 1));
  let sine = 1;
  for (let k = 19; k > 1; k -= 2) sine = 1 - (s * sine) / (k * (k - 1));
  sine *= angle;
  switch (quarters - 4 * Math.floor(quarters / 4)) {
    case 0:
      return { x: cosine, y: sine };
    case 1:
      return { x: -sine, y: cosine };
    case 2:
      return { x: -cosine, y: -sine };
    default:
      return { x: sine, y: -cosine };
  }
}

/**
 * Angle from the direction (ax, ay) to (bx, by), rad, in [-pi, pi], > 0 from +x towards +y; 0 when either has no length.
 * The tangent of a quarter of a right angle's part is found by halving, and its arctangent by the series to t^19.
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
