/**
 * One star followed from frame to frame, for a guiding loop.
 *
 * guide-star   the star in a window that follows it: position, error, trend of its size, lost and found again
 * star-size    how wide its light is, and how that changes over the last frames
 */
export {
  type GuideMethod,
  type GuideStar,
  type GuideStarOptions,
  type GuideStarReading,
  prepareGuideStar,
} from './guide-star.ts';
