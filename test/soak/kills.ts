/**
 * A sweep killed a hundred times at random moments, each time resumed, gives the bytes of an undisturbed run.
 */
import { sweepThroughKills } from './killed-sweep.ts';
import { seededNumbers } from './seeded-numbers.ts';

const kills = 100;
const { killed, same, cells } = await sweepThroughKills(kills, seededNumbers('kills'));
console.log(`kills: ${killed} of a sweep of ${cells} cells; bytes of an undisturbed run: ${same}`);
process.exitCode = same && killed >= kills ? 0 : 1;
