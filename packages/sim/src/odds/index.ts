/**
 * Is there a guide star at all: how faint it may be, and how many such stars per field holds.
 *
 * guide-star-odds      expected number of stars in the guide field, odds of one and of three
 * guide-star-limit     how faint a guide star may be
 * guide-star-chance    odds from an expected number and its uncertainty
 * star-counts          stars per square degree, and how well that is known
 * star-counts-formula  away from the Milky Way: Bahcall and Soneira
 * star-counts-total    stars in all directions, and the scale of the counts of each
 * star-counts-table    at any latitude from V = 15 on: Allen's table
 * star-list            a list of the user's own
 */
export type { GuideStarChance } from './guide-star-chance.ts';
export {
  type FaintestStar,
  type GuideStarLimit,
  type GuideStarLimitOptions,
  guideStarLimit,
} from './guide-star-limit.ts';
export { type GuideStarOdds, type GuideStarPlace, guideStarOdds } from './guide-star-odds.ts';
export type { StarCount, StarCountOptions, StarCountSource } from './star-counts.ts';
export {
  type GuideFieldAt,
  type ListedStar,
  readStarList,
  type StarList,
  starsInField,
} from './star-list.ts';
