/** The colors a figure is printed in: ink on paper, one accent, two hues beside it. */
export interface Inks {
  readonly paper: string;
  readonly ink: string;
  /** For what may be overlooked: grids, notes. */
  readonly faint: string;
  readonly rule: string;
  readonly accent: string;
  readonly second: string;
  readonly third: string;
}

/**
 * Chosen so that accent, second, third and ink stay apart for every common color vision (CIE 1976 distance of
 * at least 22 between any two under simulated protanopia, deuteranopia and tritanopia; matrices of Machado et
 * al. 2009 from memory) and so that each reads as text on its paper (contrast of at least 4.5).
 */
export const lightInks: Inks = {
  paper: '#fcfbf8',
  ink: '#1d1c1a',
  faint: '#5f5b53',
  rule: '#cfc9bd',
  accent: '#33398c',
  second: '#986300',
  third: '#25776d',
};

/**
 * The same by the names that the page's style sheet gives them, so that the reader's setting changes them at
 * once.
 */
export const pageInks: Inks = {
  paper: 'var(--paper)',
  ink: 'var(--ink)',
  faint: 'var(--faint)',
  rule: 'var(--rule)',
  accent: 'var(--accent)',
  second: 'var(--second)',
  third: 'var(--third)',
};

/** How the line of an estimator is told from the others: by hue, dash and marker together. */
export interface LineStyle {
  readonly ink: keyof Inks;
  readonly dash: string;
  readonly symbol: 'circle' | 'square' | 'triangle' | 'diamond' | 'cross' | 'star' | 'hexagon' | 'wye';
}

const lineStyles: readonly LineStyle[] = [
  { ink: 'second', dash: '7 3', symbol: 'square' },
  { ink: 'accent', dash: 'none', symbol: 'circle' },
  { ink: 'third', dash: '2 2.5', symbol: 'triangle' },
  { ink: 'second', dash: '9 3 2 3', symbol: 'diamond' },
  { ink: 'accent', dash: '4 4', symbol: 'cross' },
  { ink: 'third', dash: '11 4', symbol: 'star' },
  { ink: 'ink', dash: '1.5 3.5', symbol: 'hexagon' },
  { ink: 'ink', dash: '12 3 2 3 2 3', symbol: 'wye' },
];

/** The style of the line number `index`; eight are told apart. */
export function lineStyle(index: number): LineStyle {
  return lineStyles[index % lineStyles.length];
}

/** How much ink a pixel gets, 0 to 1, for its light as a share of the brightest pixel's. */
export const inkOf = (light: number): number => Math.min(1, Math.sqrt(Math.max(0, light)));
