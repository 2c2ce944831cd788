/**
 * Finding all stars of a frame.
 *
 * locate-star    all stars of a frame, whatever their size
 * star-scales    where light stands out of the noise, and on which scale
 * removed-light  light already taken out of the frame, by rectangles
 * light-extent   center, flux and size of one patch of light
 * surroundings   level and slope around it
 * hot-pixels     single bright pixels that are not stars
 */
export { type FoundStar, type LocateStarOptions, locateStar } from './locate-star.ts';
