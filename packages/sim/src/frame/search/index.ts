/**
 * The stars of a frame whose stars share their size.
 *
 * one-size-search  the stars, and what is not taken for one
 * common-shape     size and shape that the stars of a frame share; what differs from them
 * match-map        where light of that shape stands out of the whole frame
 * other-shapes     shapes that suit a light better than that of the stars
 * star-profile     their light by distance, and the matched filter with it
 * light-shape      how round a light is, how it rises to the middle
 * cell-medians     the background by medians of cells
 * frame-faults     what was taken off bad columns, bad rows and trails
 * line-defects     columns and rows that stand off as a whole
 * trails           straight trails across the frame
 */
export { type RejectedLight, type StarSearch, searchOneSize } from './one-size-search.ts';
