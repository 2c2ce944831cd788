/**
 * How often the range of the page's first answer holds the limit that many frames give, for 200 random rigs.
 * `npx tsx --conditions=@holdfast/source test/studies/first-answer.ts > test/studies/first-answer.csv`
 */
import { judgeFirstAnswer } from '../notebook/judge-first-answer.ts';
import { randomRigs } from '../notebook/random-rigs.ts';

console.log('rig,limit px,low px,high px,held');
randomRigs(200).forEach((rig, i) => {
  const { value, low, high, isHeld } = judgeFirstAnswer(rig);
  console.log([i, value, low, high, isHeld].join(','));
});
