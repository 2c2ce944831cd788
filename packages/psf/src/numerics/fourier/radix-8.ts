/**
 * The pass of radix 8 for `radix-passes`, written out value by value: with lines of 512 it takes three
 * quarters of the time of passes of radix 4. JavaScript has no complex numbers that stay in registers, so
 * each is a pair: x3r + i x3i.
 */

/**
 * y[q + gap (8 p + r)] = w^(p r) * transform of x[start + q + step (p + count j)] over j; r and j from 0 to
 * 7, q below `gap`. Distances are in numbers, two for each complex value.
 *
 * The transform of eight is put together from two of four: e of the values with even j, g of those with odd j
 * turned by r eighths of a circle, (1 - i) / sqrt 2 each. Outputs r and r + 4 are their sum and difference.
 *
 * @param w     w^1 ... w^7 for each p, where w is the first root of unity of the pass
 * @param half  values j = 4 to 7 are zero and are not read
 */
export function passOf8(
  x: Float64Array,
  start: number,
  step: number,
  y: Float64Array,
  w: Float64Array,
  count: number,
  gap: number,
  half: boolean,
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
      let x4r = 0;
      let x4i = 0;
      let x5r = 0;
      let x5i = 0;
      let x6r = 0;
      let x6i = 0;
      let x7r = 0;
      let x7i = 0;
      if (!half) {
        from += far;
        x4r = x[from];
        x4i = x[from + 1];
        from += far;
        x5r = x[from];
        x5i = x[from + 1];
        from += far;
        x6r = x[from];
        x6i = x[from + 1];
        from += far;
        x7r = x[from];
        x7i = x[from + 1];
      }

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
