/** How many stars brighter than a magnitude stand in a square degree, and how well that is known. */
import { requireFinite } from '@holdfast/psf/numerics';
import { bahcallSoneira } from './star-counts-formula.ts';
import { allenTable } from './star-counts-table.ts';
import { totalsScale } from './star-counts-total.ts';

/** Which stars are counted, and in which direction. */
export interface StarCountOptions {
  /** Faintest V magnitude counted, from 0 to 25. */
  readonly magnitude: number;
  /** From -90 to 90; 0 is the middle of the Milky Way. */
  readonly galacticLatitudeDeg: number;
  /** 0 is toward the center of the galaxy. Only the formula uses it. Default 90. */
  readonly galacticLongitudeDeg?: number;
  /**
   * 'formula': Bahcall & Soneira 1980, for latitudes of 20 degrees and more. 'table': Allen's, at any
   * latitude; brighter than V = 15 it is carried on by the slope of the formula. 'totals', the default: the
   * formula where it holds, else the table, scaled so that all directions together hold as many stars as
   * catalogs do.
   */
  readonly from?: StarCountSource;
}

/** Where the number of stars comes from. */
export type StarCountSource = 'formula' | 'table' | 'totals';

/** Stars per square degree, and how well that is known. */
export interface StarCount {
  /** Stars brighter than the magnitude in a square degree. */
  readonly perDeg2: number;
  /**
   * 1 sigma of the count as a factor: two times in three the true one lies between perDeg2 / factor and
   * perDeg2 * factor, all directions taken together; a dark cloud or a cluster is another matter.
   */
  readonly uncertaintyFactor: number;
  /** Where the number comes from. */
  readonly from: StarCountSource;
  /** The source and what was done with it, for people. */
  readonly note: string;
}

/** Latitude from which the formula holds, degrees. */
const formulaLatitudeDeg = 20;
/** Where the table begins. */
const tableMagnitude = 15;

/**
 * Formula and table as printed: they differ by up to 36 % where both hold, and all-sky totals lie up to 1.6
 * times above both.
 */
const sourceFactor = 1.35;
/**
 * Scaled to the totals: the densities of Tycho-2 at latitudes 0, 30 and 90 are reached at V 12.12, 12.35 and
 * 12.52, which is 1.2 up or down from one depth; the rest is for the longitude and for single fields.
 */
const scaledFactor = 1.25;
/**
 * The table carried on to brighter stars: the formula's own slopes from V = 15 to 12 spread from 0.32 to 0.39
 * in the logarithm a magnitude over the latitudes, half of which makes another factor of 1.28 at V = 12.
 */
const carriedFactor = 1.5;

/**
 * Stars brighter than a V magnitude in a square degree.
 *
 * ```ts
 * starsPerDeg2({ magnitude: 12, galacticLatitudeDeg: 30 }).perDeg2 // 36.8
 * ```
 * @throws RangeError or TypeError naming the argument that is out of range; RangeError when the formula is
 *         asked for at a latitude where it does not hold
 */
export function starsPerDeg2({
  magnitude,
  galacticLatitudeDeg,
  galacticLongitudeDeg = 90,
  from,
}: StarCountOptions): StarCount {
  requireFinite('magnitude', magnitude);
  requireFinite('galacticLatitudeDeg', galacticLatitudeDeg);
  requireFinite('galacticLongitudeDeg', galacticLongitudeDeg);
  if (!(magnitude >= 0 && magnitude <= 25))
    throw new RangeError(`magnitude must be in [0, 25], got ${magnitude}`);
  if (!(Math.abs(galacticLatitudeDeg) <= 90))
    throw new RangeError(`galacticLatitudeDeg must be in [-90, 90], got ${galacticLatitudeDeg}`);
  if (from !== undefined && from !== 'formula' && from !== 'table' && from !== 'totals')
    throw new TypeError(`from must be one of formula, table, totals, got ${JSON.stringify(from)}`);
  const latitude = Math.abs(galacticLatitudeDeg);
  const holds = latitude >= formulaLatitudeDeg;
  if (from === 'formula' && !holds)
    throw new RangeError(
      `galacticLatitudeDeg must be at least ${formulaLatitudeDeg} from 0 for the formula, got ${galacticLatitudeDeg}`,
    );
  if (from === undefined || from === 'totals') {
    const printed = printedCount(magnitude, latitude, galacticLongitudeDeg, holds);
    const ofPrinted = (m: number, b: number, l: number): number =>
      printedCount(m, b, l, b >= formulaLatitudeDeg).perDeg2;
    return {
      perDeg2: printed.perDeg2 * totalsScale(magnitude, ofPrinted),
      uncertaintyFactor: holds ? scaledFactor : printed.uncertaintyFactor,
      from: 'totals',
      note: `${printed.note}, scaled to the number of stars in all directions`,
    };
  }
  return printedCount(magnitude, latitude, galacticLongitudeDeg, from === 'formula');
}

/** What formula or table say. */
function printedCount(
  magnitude: number,
  latitude: number,
  longitudeDeg: number,
  byFormula: boolean,
): StarCount {
  return byFormula
    ? {
        perDeg2: bahcallSoneira(magnitude, latitude, longitudeDeg),
        uncertaintyFactor: sourceFactor,
        from: 'formula',
        note: 'Bahcall & Soneira 1980, eq. (B1)',
      }
    : fromTable(magnitude, latitude);
}

function fromTable(magnitude: number, latitude: number): StarCount {
  const note = "table of Allen's Astrophysical Quantities, 4th ed.";
  if (magnitude >= tableMagnitude)
    return { perDeg2: allenTable(magnitude, latitude), uncertaintyFactor: sourceFactor, from: 'table', note };
  const slopeLatitude = Math.max(formulaLatitudeDeg, latitude);
  const ratio =
    bahcallSoneira(magnitude, slopeLatitude, 90) / bahcallSoneira(tableMagnitude, slopeLatitude, 90);
  return {
    perDeg2: allenTable(tableMagnitude, latitude) * ratio,
    uncertaintyFactor: carriedFactor,
    from: 'table',
    note: `${note}, at V = 15, carried on to brighter stars by the slope of Bahcall & Soneira 1980`,
  };
}
