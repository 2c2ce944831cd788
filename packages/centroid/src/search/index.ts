/**
 * Finding all stars of a frame.
 *
 * locate-star      all stars of a frame, whatever their size
 * candidate-queue  what stands out most comes first
 * star-scales      where light stands out of the noise, and on which scale
 * box-contrast     how far a box stands out of its noise, from rolling rows of sums
 * box-row          boxes of one row that have room on all sides
 * table-memory     where these sums stand
 * removed-light    light already taken out of the frame, by rectangles
 * disc-light       the light of a round part of the frame above its level
 * light-extent     center, flux and size of one patch of light
 * surroundings     level and slope around it
 * hot-pixels       single bright pixels that are not stars
 * frame-light      the light of the frame, as the search works on it
 */
export { type FoundStar, type LocateStarOptions, locateStar } from './locate-star.ts';
