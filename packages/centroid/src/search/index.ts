/**
 * Finding all stars of a frame.
 *
 * locate-star      all stars of a frame, whatever their size, or those of one size
 * candidate-queue  what stands out most comes first
 * common-shape     size and shape that the stars of a frame share; what differs from them
 * star-profile     their light by distance, and the matched filter with it
 * light-shape      how round a light is, how it rises to the middle
 * star-scales      where light stands out of the noise, and on which scale
 * box-contrast     how far a box stands out of its noise, from rolling rows of sums
 * removed-light    light already taken out of the frame, by rectangles
 * disc-light       the light of a round part of the frame above its level
 * light-extent     center, flux and size of one patch of light
 * surroundings     level and slope around it
 * cell-medians     the background by medians of cells
 * hot-pixels       single bright pixels that are not stars
 * frame-light      the light of the frame, as the search works on it
 * frame-faults     what was taken off bad columns, bad rows and trails
 * line-defects     columns and rows that stand off as a whole
 * trails           straight trails across the frame
 */
export { type FoundStar, type LocateStarOptions, locateStar } from './locate-star.ts';
