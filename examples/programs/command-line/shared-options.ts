/** Options that several programs take, described once. */
import { estimatorNames, type Rig } from '@holdfast/sim';
import { UnusableInput } from '../../reports/unusable-input.ts';
import { many, number, type Option, outFile, text, toNumber, word } from './option.ts';
import { exampleRig, readRig } from './read-rig.ts';

export const rig: Option<Rig> = {
  value: 'FILE',
  help: 'rig to work on (JSON; see packages/sim/rig.schema.json)',
  otherwise: () => readRig(undefined),
  otherwiseText: exampleRig,
  read: ([file]) => readRig(file),
};

/** A rig file, for programs that can do without one. */
export const givenRig: Option<Rig | undefined> = {
  value: 'FILE',
  help: rig.help,
  otherwise: () => undefined,
  read: ([file]) => readRig(file),
};

export const aperture = number('MM', 'diameter of the telescope');
export const focalLength = number('MM', 'focal length at the guide camera');
export const pixel = number('UM', 'side of a pixel of the guide camera');
export const set = many(
  'FIELD=VALUE',
  'one more value that you know, by its name in the rig file: guideCamera.readNoiseE=1.5',
  readKnown,
  {},
);

function readKnown(texts: readonly string[]): Readonly<Record<string, number | string>> {
  return Object.fromEntries(
    texts.map((text) => {
      const [, field, value] = /^([^=]+)=(.+)$/s.exec(text) ?? [];
      if (field === undefined || value === undefined)
        throw new UnusableInput(`--set must be FIELD=VALUE, as guideCamera.readNoiseE=1.5, got ${text}`);
      const asNumber = toNumber(value);
      return [field, Number.isFinite(asNumber) ? asNumber : value];
    }),
  );
}

/** @param help  what it draws */
export const figureFile = (help: string): Option<string | undefined> =>
  outFile('FILE.svg', `${help}; .png works too`, { ends: ['.svg', '.png'] });

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
