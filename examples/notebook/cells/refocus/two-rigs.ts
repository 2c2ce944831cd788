/** Two rigs side by side: what differs, and what comes of it. */
import { plateScaleArcsecPerPx } from '@holdfast/psf';
import { parseRig, type Rig } from '@holdfast/sim';
import { significant } from '@holdfast/sim/internal';
import { shown } from '../../../figures/number-words.ts';
import { invalidation, rigName, settled, signalOf } from '../../book.ts';
import type { Cell } from '../../cell.ts';
import { liveSeed } from '../../compute/cell-of.ts';
import { fNumberOf, pixelUmOf, umPerRingPx } from '../../compute/derived.ts';
import type { LimitRange } from '../../compute/formula-limits.ts';
import { choiceControl, controls } from '../../controls.ts';
import { paragraph } from '../../element.ts';
import { telescopeKinds } from '../../first/telescope-kinds.ts';
import { inputValues } from '../../input-values.ts';
import { type Input, inputsOf } from '../../inputs-of.ts';
import { usableRig } from '../../rig-form/complete-rig.ts';
import { isGroup, textOfRig } from '../../rig-form/rig-text.ts';
import type { TableBox } from '../../table-box.ts';
import { rigFileButton } from './rig.ts';

const chapter = 'should-i-refocus';
const trials = 256;

/** Optics in front of the guide camera, and whole telescopes of others. */
const others = new Map<string, string>([
  ['mine with a Barlow lens, 2 ×', 'times 2'],
  ['mine with a reducer, 0.7 ×', 'times 0.7'],
  ['mine with the guide camera binned 2 × 2', 'binned'],
  ['a friend’s rig, from a file', 'friend'],
  ...telescopeKinds.map(({ name, apertureMm }): [string, string] => [
    `a ${name} of ${apertureMm} mm, all else as mine`,
    name,
  ]),
]);

interface Compared {
  readonly mine: Rig;
  readonly other: Rig;
  readonly limits?: readonly [LimitRange, LimitRange];
}

interface Row {
  readonly quantity: string;
  readonly unit: string;
  readonly values: readonly [string, string];
}

export const twoRigs: Cell = {
  id: 'two-rigs',
  title: 'Two rigs side by side',
  content(book) {
    const choice = choiceControl(book, 'otherRig', 'compare my rig with', others, 'times 2');
    const friend = Object.assign(new EventTarget(), { value: book.state.restored('friendRig') ?? null });
    book.keep('friendRig', friend, null);
    book.define('friendRig', [], () => inputValues(friend));
    const load = rigFileButton('load a friend’s rig', 'friend-file', (rig) => {
      friend.value = rig;
      friend.dispatchEvent(new Event('input'));
      choice.value = 'friend';
      choice.dispatchEvent(new Event('input'));
    });
    book.define(
      'twoRigs',
      [rigName(chapter), 'otherRig', 'friendRig', invalidation],
      async function* (
        mine: Rig,
        name: string,
        friendText: unknown,
        outdated: Promise<unknown>,
      ): AsyncGenerator<Compared> {
        const signal = signalOf(outdated);
        const other = name === 'friend' ? friendRig(friendText) : otherRig(mine, name);
        yield { mine, other };
        await book.seen(chapter, signal);
        await settled(signal);
        const limitOf = async (rig: Rig) =>
          (await book.team(chapter).run(signal, 'focusLimit', rig, {}, { seed: liveSeed, trials }))
            .ringDiameterPx;
        yield { mine, other, limits: await Promise.all([limitOf(mine), limitOf(other)]) };
      },
    );
    const table = book.table<Row>('two-rigs-table');
    // Apart: what waits for two values keeps each change of the one until the other comes.
    let [compared, ringPx]: [Compared?, number?] = [];
    const draw = () => {
      if (compared !== undefined && ringPx !== undefined) table.redraw(tableOf(compared, ringPx));
    };
    book.show(['twoRigs'], (found: Compared) => {
      compared = found;
      draw();
    });
    book.show(['ringPx'], (px: number) => {
      ringPx = px;
      draw();
    });
    return [
      paragraph(
        'What changes with a Barlow lens, a reducer or another telescope? The table lists only what differs.',
      ),
      controls(choice, load),
      table.element,
    ];
  },
};

function friendRig(text: unknown): Rig {
  if (!isGroup(text)) throw new RangeError('load the rig file of a friend first');
  return usableRig(text).rig;
}

function otherRig(mine: Rig, name: string): Rig {
  const kind = telescopeKinds.find((each) => each.name === name);
  const { telescope, guideCamera } = mine;
  if (name === 'binned')
    return { ...mine, guideCamera: { ...guideCamera, binning: Math.min(8, 2 * guideCamera.binning) } };
  const changed =
    kind === undefined
      ? { focalLengthMm: telescope.focalLengthMm * Number(name.replace('times ', '')) }
      : {
          apertureMm: kind.apertureMm,
          focalLengthMm: kind.focalLengthMm,
          obstructionRatio: kind.obstructionRatio,
        };
  return parseRig({ ...textOfRig(mine), telescope: { ...telescope, ...changed } });
}

function tableOf({ mine, other, limits }: Compared, ringPx: number): TableBox<Row> {
  const both = (of: (rig: Rig) => number): [string, string] => [
    significant(of(mine), 3),
    significant(of(other), 3),
  ];
  const arcsec = (rig: Rig) =>
    plateScaleArcsecPerPx({ pixelSizeUm: pixelUmOf(rig), focalLengthMm: rig.telescope.focalLengthMm });
  const um = ringPx * umPerRingPx(mine);
  const nameOf = ({ part, quantity }: Input) => `${part}: ${quantity}`;
  const [ours, theirs] = [mine, other].map(
    (rig) => new Map(inputsOf(rig).map((input) => [nameOf(input), input])),
  );
  const inputs = [...new Map([...theirs, ...ours])].map(([quantity, { unit }]): Row => {
    const text = (inputs: typeof ours) => String(inputs.get(quantity)?.value ?? 'none');
    return { quantity, unit, values: [text(ours), text(theirs)] };
  });
  const rough = (limit: LimitRange, times: number) => {
    const [low, high] = [limit.low, limit.high].map((value) => significant(value * times, 2));
    return low === high ? low : `${low} to ${high}`;
  };
  const found: Row[] =
    limits === undefined
      ? []
      : [
          { quantity: 'limit, as a ring', unit: 'px', values: [rough(limits[0], 1), rough(limits[1], 1)] },
          {
            quantity: 'limit, out of focus',
            unit: 'µm',
            values: [rough(limits[0], umPerRingPx(mine)), rough(limits[1], umPerRingPx(other))],
          },
        ];
  const derived: Row[] = [
    {
      quantity: `ring at ${significant(um, 3)} µm out of focus`,
      unit: 'px',
      values: both((rig) => um / umPerRingPx(rig)),
    },
    { quantity: 'F-number', unit: '', values: both(fNumberOf) },
    { quantity: 'plate scale', unit: '″ per px', values: both(arcsec) },
    { quantity: 'seeing', unit: 'px', values: both((rig) => rig.sky.seeingFwhmArcsec / arcsec(rig)) },
  ];
  const rows = [...found, ...derived, ...inputs].filter(({ values: [a, b] }) => a !== b);
  return {
    caption: [
      limits === undefined
        ? 'What differs; the limits are being simulated.'
        : `What differs. Limits: 95 % intervals from ${trials} simulated frames per ring.`,
    ],
    columns: [
      {
        head: 'quantity',
        isHead: true,
        cell: ({ quantity, unit }) => [shown(`${quantity}${unit && `, ${unit}`}`)],
      },
      { head: 'mine', isNumber: true, cell: ({ values }) => [shown(values[0])] },
      { head: 'the other', isNumber: true, cell: ({ values }) => [shown(values[1])] },
    ],
    rows: rows.length > 0 ? rows : [{ quantity: 'nothing differs', unit: '', values: ['', ''] }],
    record: ({ quantity, unit, values }) => ({ quantity, unit, mine: values[0], other: values[1] }),
  };
}
