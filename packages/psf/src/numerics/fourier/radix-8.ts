/** Passes of eight for `radix-passes`, written out: with lines of 512 they take three quarters of the time of passes of four. */

/**
 * y[q + gap (8 p + r)] = w^(p r) * transform of x[start + q + step (p + count j)] over j; r and j from 0 to 7, q below `gap`.
 * Distances are in numbers, two for each complex value. An eighth of a turn is (1 - i) / sqrt 2.
 */
export function passOf8(
  x: Float64Array,
  start: number,
  step: number,
  y: Float64Array,
  w: Float64Array,
  count: number,
  gap: number,
): void {
  const far = step * count;
  for (let p = 0, t = 0; p < count; p++, t += 14) {
    const w1r = w[t];
    const w1i = w[t + 1];
    const w2r = w[t + 2];
    const w2i = w[t + 3];
    const w3r = w[t + 4];
    const w3i = w[t + 5];
    const w4r = w[t + 6];
    const w4i = w[t + 7];
    const w5r = w[t + 8];
    const w5i = w[t + 9];
    const w6r = w[t + 10];
    const w6i = w[t + 11];
    const w7r = w[t + 12];
    const w7i = w[t + 13];
    const begin = start + step * p;
    for (let a = begin, to = 8 * gap * p; a < begin + gap; a += 2, to += 2) {
      let from = a;
      const x0r = x[from];
      const x0i = x[from + 1];
      from += far;
      const x1r = x[from];
      const x1i = x[from + 1];
      from += far;
      const x2r = x[from];
      const x2i = x[from + 1];
      from += far;
      const x3r = x[from];
      const x3i = x[from + 1];
      from += far;
      const x4r = x[from];
      const x4i = x[from + 1];
      from += far;
      const x5r = x[from];
      const x5i = x[from + 1];
      from += far;
      const x6r = x[from];
      const x6i = x[from + 1];
      from += far;
      const x7r = x[from];
      const x7i = x[from + 1];

      // Transforms of four: e of the even ones, g of the odd ones; -i (b + i c) = c - i b.
      const s0r = x0r + x4r;
      const s0i = x0i + x4i;
      const d0r = x0r - x4r;
      const d0i = x0i - x4i;
      const s2r = x2r + x6r;
      const s2i = x2i + x6i;
      const d2r = x2i - x6i;
      const d2i = x6r - x2r;
      const e0r = s0r + s2r;
      const e0i = s0i + s2i;
      const e1r = d0r + d2r;
      const e1i = d0i + d2i;
      const e2r = s0r - s2r;
      const e2i = s0i - s2i;
      const e3r = d0r - d2r;
      const e3i = d0i - d2i;
      const s1r = x1r + x5r;
      const s1i = x1i + x5i;
      const d1r = x1r - x5r;
      const d1i = x1i - x5i;
      const s3r = x3r + x7r;
      const s3i = x3i + x7i;
      const d3r = x3i - x7i;
      const d3i = x7r - x3r;
      const g1r = d1r + d3r;
      const g1i = d1i + d3i;
      const g3r = d1r - d3r;
      const g3i = d1i - d3i;
      // The odd ones turned by 0 to 3 eighths.
      const f0r = s1r + s3r;
      const f0i = s1i + s3i;
      const f1r = Math.SQRT1_2 * (g1r + g1i);
      const f1i = Math.SQRT1_2 * (g1i - g1r);
      const f2r = s1i - s3i;
      const f2i = s3r - s1r;
      const f3r = Math.SQRT1_2 * (g3i - g3r);
      const f3i = -Math.SQRT1_2 * (g3r + g3i);

      let at = to;
      y[at] = e0r + f0r;
      y[at + 1] = e0i + f0i;
      at += gap;
      let re = e1r + f1r;
      let im = e1i + f1i;
      y[at] = re * w1r - im * w1i;
      y[at + 1] = re * w1i + im * w1r;
      at += gap;
      re = e2r + f2r;
      im = e2i + f2i;
      y[at] = re * w2r - im * w2i;
      y[at + 1] = re * w2i + im * w2r;
      at += gap;
      re = e3r + f3r;
      im = e3i + f3i;
      y[at] = re * w3r - im * w3i;
      y[at + 1] = re * w3i + im * w3r;
      at += gap;
      re = e0r - f0r;
      im = e0i - f0i;
      y[at] = re * w4r - im * w4i;
      y[at + 1] = re * w4i + im * w4r;
      at += gap;
      re = e1r - f1r;
      im = e1i - f1i;
      y[at] = re * w5r - im * w5i;
      y[at + 1] = re * w5i + im * w5r;
      at += gap;
      re = e2r - f2r;
      im = e2i - f2i;
      y[at] = re * w6r - im * w6i;
      y[at + 1] = re * w6i + im * w6r;
      at += gap;
      re = e3r - f3r;
      im = e3i - f3i;
      y[at] = re * w7r - im * w7i;
      y[at + 1] = re * w7i + im * w7r;
    }
  }
}

/** The same where x[4] to x[7] are zero. */
export function passOf8Half(
  x: Float64Array,
  start: number,
  step: number,
  y: Float64Array,
  w: Float64Array,
  count: number,
  gap: number,
): void {
  const far = step * count;
  for (let p = 0, t = 0; p < count; p++, t += 14) {
    const w1r = w[t];
    const w1i = w[t + 1];
    const w2r = w[t + 2];
    const w2i = w[t + 3];
    const w3r = w[t + 4];
    const w3i = w[t + 5];
    const w4r = w[t + 6];
    const w4i = w[t + 7];
    const w5r = w[t + 8];
    const w5i = w[t + 9];
    const w6r = w[t + 10];
    const w6i = w[t + 11];
    const w7r = w[t + 12];
    const w7i = w[t + 13];
    const begin = start + step * p;
    for (let a = begin, to = 8 * gap * p; a < begin + gap; a += 2, to += 2) {
      let from = a;
      const x0r = x[from];
      const x0i = x[from + 1];
      from += far;
      const x1r = x[from];
      const x1i = x[from + 1];
      from += far;
      const x2r = x[from];
      const x2i = x[from + 1];
      from += far;
      const x3r = x[from];
      const x3i = x[from + 1];

      const e0r = x0r + x2r;
      const e0i = x0i + x2i;
      const e1r = x0r + x2i;
      const e1i = x0i - x2r;
      const e2r = x0r - x2r;
      const e2i = x0i - x2i;
      const e3r = x0r - x2i;
      const e3i = x0i + x2r;
      const g1r = x1r + x3i;
      const g1i = x1i - x3r;
      const g3r = x1r - x3i;
      const g3i = x1i + x3r;
      const f0r = x1r + x3r;
      const f0i = x1i + x3i;
      const f1r = Math.SQRT1_2 * (g1r + g1i);
      const f1i = Math.SQRT1_2 * (g1i - g1r);
      const f2r = x1i - x3i;
      const f2i = x3r - x1r;
      const f3r = Math.SQRT1_2 * (g3i - g3r);
      const f3i = -Math.SQRT1_2 * (g3r + g3i);

      let at = to;
      y[at] = e0r + f0r;
      y[at + 1] = e0i + f0i;
      at += gap;
      let re = e1r + f1r;
      let im = e1i + f1i;
      y[at] = re * w1r - im * w1i;
      y[at + 1] = re * w1i + im * w1r;
      at += gap;
      re = e2r + f2r;
      im = e2i + f2i;
      y[at] = re * w2r - im * w2i;
      y[at + 1] = re * w2i + im * w2r;
      at += gap;
      re = e3r + f3r;
      im = e3i + f3i;
      y[at] = re * w3r - im * w3i;
      y[at + 1] = re * w3i + im * w3r;
      at += gap;
      re = e0r - f0r;
      im = e0i - f0i;
      y[at] = re * w4r - im * w4i;
      y[at + 1] = re * w4i + im * w4r;
      at += gap;
      re = e1r - f1r;
      im = e1i - f1i;
      y[at] = re * w5r - im * w5i;
      y[at + 1] = re * w5i + im * w5r;
      at += gap;
      re = e2r - f2r;
      im = e2i - f2i;
      y[at] = re * w6r - im * w6i;
      y[at + 1] = re * w6i + im * w6r;
      at += gap;
      re = e3r - f3r;
      im = e3i - f3i;
      y[at] = re * w7r - im * w7i;
      y[at + 1] = re * w7i + im * w7r;
    }
  }
}

/** The pass of 8 that comes last: no factors are left. */
export function lastPassOf8(x: Float64Array, y: Float64Array, gap: number): void {
  for (let a = 0; a < gap; a += 2) {
    let from = a;
    const x0r = x[from];
    const x0i = x[from + 1];
    from += gap;
    const x1r = x[from];
    const x1i = x[from + 1];
    from += gap;
    const x2r = x[from];
    const x2i = x[from + 1];
    from += gap;
    const x3r = x[from];
    const x3i = x[from + 1];
    from += gap;
    const x4r = x[from];
    const x4i = x[from + 1];
    from += gap;
    const x5r = x[from];
    const x5i = x[from + 1];
    from += gap;
    const x6r = x[from];
    const x6i = x[from + 1];
    from += gap;
    const x7r = x[from];
    const x7i = x[from + 1];

    const s0r = x0r + x4r;
    const s0i = x0i + x4i;
    const d0r = x0r - x4r;
    const d0i = x0i - x4i;
    const s2r = x2r + x6r;
    const s2i = x2i + x6i;
    const d2r = x2i - x6i;
    const d2i = x6r - x2r;
    const e0r = s0r + s2r;
    const e0i = s0i + s2i;
    const e1r = d0r + d2r;
    const e1i = d0i + d2i;
    const e2r = s0r - s2r;
    const e2i = s0i - s2i;
    const e3r = d0r - d2r;
    const e3i = d0i - d2i;
    const s1r = x1r + x5r;
    const s1i = x1i + x5i;
    const d1r = x1r - x5r;
    const d1i = x1i - x5i;
    const s3r = x3r + x7r;
    const s3i = x3i + x7i;
    const d3r = x3i - x7i;
    const d3i = x7r - x3r;
    const g1r = d1r + d3r;
    const g1i = d1i + d3i;
    const g3r = d1r - d3r;
    const g3i = d1i - d3i;
    const f0r = s1r + s3r;
    const f0i = s1i + s3i;
    const f1r = Math.SQRT1_2 * (g1r + g1i);
    const f1i = Math.SQRT1_2 * (g1i - g1r);
    const f2r = s1i - s3i;
    const f2i = s3r - s1r;
    const f3r = Math.SQRT1_2 * (g3i - g3r);
    const f3i = -Math.SQRT1_2 * (g3r + g3i);

    let at = a;
    y[at] = e0r + f0r;
    y[at + 1] = e0i + f0i;
    at += gap;
    y[at] = e1r + f1r;
    y[at + 1] = e1i + f1i;
    at += gap;
    y[at] = e2r + f2r;
    y[at + 1] = e2i + f2i;
    at += gap;
    y[at] = e3r + f3r;
    y[at + 1] = e3i + f3i;
    at += gap;
    y[at] = e0r - f0r;
    y[at + 1] = e0i - f0i;
    at += gap;
    y[at] = e1r - f1r;
    y[at + 1] = e1i - f1i;
    at += gap;
    y[at] = e2r - f2r;
    y[at + 1] = e2i - f2i;
    at += gap;
    y[at] = e3r - f3r;
    y[at + 1] = e3i - f3i;
  }
}
