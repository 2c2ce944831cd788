/**
 * Finding all stars of a frame.
 *
 * locate-star    all stars of a frame, whatever their size
 * star-scales    where light stands out, at which scale
 * removed-light  light that was taken out of the frame, by rectangles
 * light-extent   centre, flux and size of one light
 * surroundings   level and slope around it
 * hot-pixels     single pixels that are no stars
 */
export { type FoundStar, type LocateStarOptions, locateStar, locateStarDefaults } from './locate-star.ts';
