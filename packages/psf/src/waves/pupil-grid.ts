/**
 * A pupil on a grid of square cells with gray edges: how much of each cell is open, and what wave comes
 * through it.
 */
import { writePhasor } from '../numerics/angle.ts';
import { gaussLegendre } from '../numerics/quadrature.ts';
import { requireInteger } from '../numerics/require.ts';
import { isPupilEvenInY, type Pupil, pupilIntensity } from './pupil.ts';
import { type PupilRows, pupilRows } from './pupil-rows.ts';
import type { ZernikeSum } from './zernike.ts';

/** Lines in each smooth part of a row of cells. */
const linesPerPart = 8;

/** `count` cells of side `step` on a side, centered on the aperture. */
interface Grid {
  readonly count: number;
  readonly step: number;
}

/**
 * Open fraction of each cell of an n by n grid over the square that the aperture fits in, row by row from y =
 * -1.
 *
 * Edges are gray: the fraction is exact along x; along y a row of cells is cut where edges begin, end or
 * cross, and each part is integrated by Gauss's rule of 8 lines. A cell is right within 0.02, all together
 * within 0.001 / samples^1.5 of the circle's area. Illumination is not included.
 *
 * ```ts
 * const open = pupilGrid({ obstructionRatio: 0.3 }, 64)
 * const light = open.reduce((sum, part) => sum + part) * (2 / 64) ** 2 // 2.859 = pi (1 - 0.3^2)
 * ```
 * @param samples  cells on a side, a whole number from 2 to 4096
 * @throws RangeError or TypeError naming the field of the pupil or the number that is out of range
 */
export function pupilGrid(pupil: Pupil, samples: number): Float64Array {
  requireInteger('samples', samples, 2, 4096);
  const grid = { count: samples, step: 2 / samples };
  const rows = pupilRows(pupil);
  const open = new Float64Array(samples * samples);
  for (let row = 0; row < samples; row++)
    addOpenRow(open.subarray(row * samples, (row + 1) * samples), linesOfRow(rows, row, grid), rows, grid);
  return open;
}

/** A line across a row of cells. */
interface Line {
  readonly y: number;
  /** Height above the middle of the row, in cells. */
  readonly above: number;
  /** Share of the row that it stands for; they sum to 1. */
  readonly share: number;
}

function linesOfRow({ breaks }: PupilRows, row: number, { count, step }: Grid): Line[] {
  const { nodes, weights } = gaussLegendre(linesPerPart);
  const bottom = row - count / 2;
  const inside = Array.from(breaks, (y) => y / step - bottom).filter((at) => at > 1e-9 && at < 1 - 1e-9);
  const cuts = [0, ...inside, 1];
  const lines: Line[] = [];
  for (let part = 0; part + 1 < cuts.length; part++) {
    const half = (cuts[part + 1] - cuts[part]) / 2;
    for (let k = 0; k < linesPerPart; k++) {
      const at = cuts[part] + half * (1 + nodes[k]);
      lines.push({ y: (bottom + at) * step, above: at - 0.5, share: half * weights[k] });
    }
  }
  return lines;
}

/** Open fraction of one row of cells. */
function addOpenRow(
  open: Float64Array,
  lines: readonly Line[],
  rows: PupilRows,
  { count, step }: Grid,
): void {
  for (const { y, share } of lines) {
    const stretches = rows.cut(y);
    for (let k = 0; k < stretches; k++) {
      // In cells, from the left edge of the grid.
      const from = Math.max(0, rows.stretches[2 * k] / step + count / 2);
      const to = Math.min(count, rows.stretches[2 * k + 1] / step + count / 2);
      if (!(to > from)) continue;
      const first = Math.floor(from);
      const last = Math.min(count - 1, Math.floor(to));
      if (first === last) open[first] += share * (to - from);
      else {
        open[first] += share * (first + 1 - from);
        for (let i = first + 1; i < last; i++) open[i] += share;
        open[last] += share * (to - last);
      }
    }
  }
}

/** Open fraction from which a cell counts as whole: the shares of its lines round. */
const wholeCell = 1 - 1e-12;

/** What `writePupilWave` needs to know of the wave. */
export interface PupilWaveSource {
  readonly pupil: Pupil;
  /** Wavefront in nm. */
  readonly surface: ZernikeSum;
  readonly wavelengthNm: number;
}

/** Whether the wave behind a pupil is the same at (x, -y): its upper half is then worked out alone. */
export const isWaveEvenInY = (pupil: Pupil, surface: ZernikeSum): boolean =>
  surface.isEvenInY && isPupilEvenInY(pupil);

/**
 * Write the mean complex amplitude in each cell, sqrt(intensity) exp(2 pi i W / lambda) over what is open, as
 * the first `count` values of the first `count` rows of `out` (`stride` complex values per row, which the
 * caller has set to zero).
 *
 * Within a cell W is taken as a plane through its mean there, W + step^2 / 24 Laplacian(W) in the middle. The
 * transform of all means is that of the pupil itself times sinc(x / L) sinc(y / L), L the period, which the
 * caller takes off. So edges cost no accuracy near the star, however coarse the grid.
 */
export function writePupilWave(
  out: Float64Array,
  stride: number,
  { pupil, surface, wavelengthNm }: PupilWaveSource,
  grid: Grid,
): void {
  const { count, step } = grid;
  const rows = pupilRows(pupil);
  const intensity = pupilIntensity(pupil);
  const open = new Float64Array(count);
  const cut: CutCell[] = [];
  const point = { value: 0, slopeX: 0, slopeY: 0, laplacian: 0 };
  const phasor = new Float64Array(2);
  const mirrors = isWaveEvenInY(pupil, surface);
  for (let row = 0; row < count; row++) {
    const opposite = count - 1 - row;
    if (mirrors && opposite < row) {
      const from = 2 * stride * opposite;
      out.copyWithin(2 * stride * row, from, from + 2 * count);
      continue;
    }
    open.fill(0);
    cut.length = 0;
    const lines = linesOfRow(rows, row, grid);
    addOpenRow(open, lines, rows, grid);
    const y = (row + 0.5 - count / 2) * step;
    for (let column = 0; column < count; column++) {
      if (open[column] === 0) continue;
      const at = 2 * (stride * row + column);
      const x = (column + 0.5 - count / 2) * step;
      surface.evaluateCurved(x, y, point);
      const amplitude = Math.sqrt(Math.max(0, intensity(x, y)));
      const turns = (point.value + (step * step * point.laplacian) / 24) / wavelengthNm;
      const turnsX = (point.slopeX * step) / wavelengthNm;
      const turnsY = (point.slopeY * step) / wavelengthNm;
      if (open[column] < wholeCell) {
        cut.push({ at, column, amplitude, turns, turnsX, turnsY });
        continue;
      }
      const mean = amplitude * sinc(turnsX) * sinc(turnsY);
      writePhasor(phasor, 0, turns);
      out[at] = mean * phasor[0];
      out[at + 1] = mean * phasor[1];
    }
    if (cut.length > 0) addCutCells(out, cut, lines, rows, grid);
  }
}

/** A cell that an edge runs through. */
interface CutCell {
  /** Place in the output. */
  readonly at: number;
  readonly column: number;
  readonly amplitude: number;
  /** Mean phase, and what the phase gains across it. */
  readonly turns: number;
  readonly turnsX: number;
  readonly turnsY: number;
}

function addCutCells(
  out: Float64Array,
  cut: readonly CutCell[],
  lines: readonly Line[],
  rows: PupilRows,
  { count, step }: Grid,
): void {
  const phasor = new Float64Array(2);
  for (const { y, above, share } of lines) {
    const stretches = rows.cut(y);
    for (const cell of cut) {
      for (let k = 0; k < stretches; k++) {
        // In cells, from the middle of this one.
        const middle = cell.column + 0.5 - count / 2;
        const from = Math.max(-0.5, rows.stretches[2 * k] / step - middle);
        const to = Math.min(0.5, rows.stretches[2 * k + 1] / step - middle);
        if (!(to > from)) continue;
        const mean = cell.amplitude * share * (to - from) * sinc(cell.turnsX * (to - from));
        writePhasor(phasor, 0, cell.turns + (cell.turnsX * (from + to)) / 2 + cell.turnsY * above);
        out[cell.at] += mean * phasor[0];
        out[cell.at + 1] += mean * phasor[1];
      }
    }
  }
}

/**
 * sin(pi t) / (pi t) for |t| <= 1: its Taylor series up to t^20, which leaves 1e-11 at the end and 1e-17 at
 * 1/2.
 */
export function sinc(t: number): number {
  const s = t * t;
  const z = s * s;
  // Even and odd powers of t^2 are two chains that a processor works through side by side.
  const even = c0 + z * (c4 + z * (c8 + z * (c12 + z * (c16 + z * c20))));
  const odd = c2 + z * (c6 + z * (c10 + z * (c14 + z * c18)));
  return even + s * odd;
}

/** (-1)^k pi^(2 k) / (2 k + 1)!, named by the power of t. */
const [c0, c2, c4, c6, c8, c10, c12, c14, c16, c18, c20] = sincSeries();

function sincSeries(): number[] {
  const series = [1];
  for (let power = 2; power <= 20; power += 2)
    series.push((-series[series.length - 1] * Math.PI * Math.PI) / (power * (power + 1)));
  return series;
}
