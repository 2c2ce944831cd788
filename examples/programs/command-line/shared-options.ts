/** Options that several programs take, described once. */
import { estimatorNames, type Rig } from '@holdfast/sim';
import { number, type Option, text, word } from './option.ts';
import { exampleRig, readRig } from './read-rig.ts';

export const rig: Option<Rig> = {
  value: 'FILE',
  help: 'rig to work on (JSON; see packages/sim/rig.schema.json)',
  otherwise: () => readRig(undefined),
  otherwiseText: exampleRig,
  read: ([file]) => readRig(file),
};

export const seed = text('WORD', 'seed of the random numbers: the same seed gives the same result', {
  default: '1',
});

export const trials = number('N', 'simulated frames for each number, 64 to 1000000', {
  isWhole: true,
  low: 64,
  high: 1_000_000,
  default: 1024,
});

export const estimator = word('NAME', `method: ${estimatorNames.join(', ')}`, estimatorNames, {
  otherwise: "the rig's",
});
