/** Does the pick-off shade the main sensor, what does its guide star get, and how deep should it reach? */
import {
  designOf,
  type PickoffClearance,
  type PickoffDepth,
  type PickoffOptions,
  type PickoffTradeOff,
  type PickoffTradeOffOptions,
  pickoffClearance,
  pickoffTradeOff,
  type Rig,
} from '@holdfast/sim';
import { type EdgeLight, edgeLight, flankLight, formulaLimits, significant } from '@holdfast/sim/internal';
import { textTable } from '../reports/text-table.ts';
import { UnusableInput, withUserNumbers } from '../reports/unusable-input.ts';
import { wrapped } from '../reports/wrapped-text.ts';
import { command } from './command-line/command.ts';
import { number, sides, type Values, word } from './command-line/option.ts';
import { figureFile, rig } from './command-line/shared-options.ts';
import { writeFigure } from './command-line/write-figure.ts';

/** A common mount, for a rig that names none. Lengths in mm. */
const commonMount = {
  flangeDistanceMm: 66,
  openingMm: 46,
  mainSensor: { widthMm: 23.5, heightMm: 15.7 },
  mirror: { widthMm: 10, depthMm: 8, distanceMm: 44 },
  angleDeg: 90,
  allowedLossPercent: 2,
};

const designNames = ['paraboloid', 'classical-cassegrain', 'ritchey-chretien'] as const;

const ofRig = (otherwise: number | string) => ({ otherwise: `the rig's pickoff, else ${otherwise}` });

const options = {
  rig,
  sensor: sides('WxH', 'sides of the main sensor', ofRig('23.5x15.7')),
  mirror: sides(
    'WxD',
    'size of the pick-off mirror as seen along the light: across the direction to the axis, then along it',
    ofRig('10x8'),
  ),
  distance: number('MM', 'from the middle of the mirror to the main sensor', ofRig(44)),
  flangeDistance: number('MM', 'from the last opening before the mirror to the main sensor', ofRig(66)),
  opening: number('MM', 'clear diameter of that opening', ofRig(46)),
  edge: number('MM', "distance of the mirror's inner edge from the axis", {
    otherwise: "the rig's. With other lengths given here: the best depth found",
  }),
  angle: number('DEG', "direction to the mirror, from the sensor's width (0) to its height (90)", ofRig(90)),
  allowedLoss: number('PCT', 'largest loss of light that is accepted at any pixel', ofRig(2)),
  design: word('NAME', 'paraboloid, classical-cassegrain or ritchey-chretien', designNames, {
    otherwise: 'what the rig says',
  }),
  primaryRatio: number('F', 'F-number of the first mirror of a two-mirror design'),
  behindPrimary: number(
    'MM',
    'from the vertex of the first mirror to the focal plane, for a two-mirror design',
  ),
  exitPupil: number('MM', 'from the exit pupil to the main sensor', {
    otherwise: 'by the rig or its design, else the focal length',
  }),
  focusShift: number('UM', 'defocus of the guide camera', { otherwise: "the rig's guideFocusShiftUm" }),
  steps: number('N', 'depths in the table, 2 to 100', { isWhole: true, low: 2, high: 100, default: 10 }),
  figure: figureFile('draw what each depth gives, and the light that the edge diffracts'),
};

export const pickoff = command({
  name: 'pickoff',
  question: 'Does the pick-off shade the main sensor, and how deep should it reach into the beam?',
  about: ['Lengths in mm.'],
  options,
  async run(asked) {
    const rig = withAskedDesign(asked);
    const mount = mountOf(asked);
    const tradeOff = withUserNumbers(() =>
      pickoffTradeOff(rig, { ...mount, steps: asked.steps, limits: formulaLimits }),
    );
    const given = asked.edge ?? (isOwnMount(asked) ? rig.pickoff?.edgeFromAxisMm : undefined);
    const edgeFromAxisMm = given ?? tradeOff.best?.edgeFromAxisMm;
    if (edgeFromAxisMm === undefined)
      throw new UnusableInput(
        `no depth gives the guide star light and shades no pixel by more than ${significant(tradeOff.allowedLossPercent, 3)} %; ` +
          'give --edge to look at one, or another --mirror, --distance, --opening or --allowed-loss',
      );
    const design = designOf(rig);
    const { design: _, ...telescope } = rig.telescope;
    const { focusShiftUm: _shift, ...place } = mount;
    const whole = { ...telescope, ...place, ...(design ? { design } : {}), edgeFromAxisMm };
    const clearance = withUserNumbers(() => pickoffClearance(whole));
    const edge = edgeLight(whole, rig.sky);
    if (asked.figure !== undefined)
      await writeFigure(asked.figure, async (options) =>
        (await import('../figures/pickoff-figure.ts')).pickoffFigure({ rig, tradeOff, edge }, options),
      );
    const picture = asked.figure === undefined ? [] : ['', `Figure: ${asked.figure}`];
    return {
      data: { rig: rig.name, pickoff: whole, clearance, tradeOff, ...(edge ? { edgeLight: edge } : {}) },
      text: () => [
        ...textOf(rig, mount, given, edgeFromAxisMm, clearance, tradeOff),
        '',
        ...edgeText(edge, whole),
        ...picture,
      ],
    };
  },
});

/** Whether the mount is the rig's alone: its depth belongs to it. */
const isOwnMount = ({
  sensor,
  mirror,
  distance,
  flangeDistance,
  opening,
  angle,
}: Values<typeof options>): boolean =>
  [sensor, mirror, distance, flangeDistance, opening, angle].every((length) => length === undefined);

/** What is asked, else what the rig says, else a common mount. */
function mountOf(asked: Values<typeof options>): PickoffTradeOffOptions & typeof commonMount {
  const {
    rig,
    sensor,
    mirror,
    distance,
    flangeDistance,
    opening,
    angle,
    allowedLoss,
    exitPupil,
    focusShift,
  } = asked;
  const own = rig.pickoff ?? commonMount;
  const exitPupilDistanceMm = exitPupil ?? rig.pickoff?.exitPupilDistanceMm;
  return {
    flangeDistanceMm: flangeDistance ?? own.flangeDistanceMm,
    openingMm: opening ?? own.openingMm,
    mainSensor: sensor ? { widthMm: sensor[0], heightMm: sensor[1] } : own.mainSensor,
    mirror: {
      widthMm: mirror?.[0] ?? own.mirror.widthMm,
      depthMm: mirror?.[1] ?? own.mirror.depthMm,
      distanceMm: distance ?? own.mirror.distanceMm,
    },
    angleDeg: angle ?? own.angleDeg,
    allowedLossPercent: allowedLoss ?? own.allowedLossPercent,
    focusShiftUm: focusShift ?? rig.guideFocusShiftUm,
    ...(exitPupilDistanceMm === undefined ? {} : { exitPupilDistanceMm }),
  };
}

/** The rig with the telescope's design that is asked for. */
function withAskedDesign({ rig, design, primaryRatio, behindPrimary }: Values<typeof options>): Rig {
  if (design === undefined) return rig;
  if (design === 'paraboloid') return { ...rig, telescope: { ...rig.telescope, design: { kind: design } } };
  if (primaryRatio === undefined || behindPrimary === undefined)
    throw new UnusableInput(`--design ${design} needs --primary-ratio and --behind-primary`);
  const mirrors = { primaryFNumber: primaryRatio, backFocusMm: behindPrimary };
  return { ...rig, telescope: { ...rig.telescope, design: { kind: design, ...mirrors } } };
}

/** What the mirror does to a bright star of the picture. */
function edgeText(edge: EdgeLight | undefined, whole: PickoffOptions): string[] {
  const flank =
    `If the flank of the mirror is 1 mm thick and blackened, its reflection is at least ${flankLight(whole).belowStarMag.toFixed(1)} mag fainter than ` +
    'such a star (derived; where it falls is not modeled).';
  if (edge === undefined)
    return wrapped(
      `No star of the picture has the mirror's edge in its beam: it diffracts nothing. ${flank}`,
    );
  const at = edge.profile.find(({ arcsec }) => arcsec === 50);
  return wrapped(
    `A bright star at ${mm(edge.star.xMm)}, ${mm(edge.star.yMm)} of the main sensor, where the mirror cuts most of its beam, gets two spikes ` +
      `square to the mirror's edge. From 5 arcsec on they are ${edge.belowStarMag.toFixed(1)} mag fainter than the star in all. At 50 arcsec ` +
      `a square arcsec of them is ${(at?.magPerArcsec2 ?? 0).toFixed(1)} mag fainter than the star (Fraunhofer diffraction of a straight edge, by formula). ${flank}`,
  );
}

function percentOf(share: number): string {
  return `${significant(100 * share, 3)} %`;
}

function mm(length: number): string {
  return `${length.toFixed(1)} mm`;
}

function textOf(
  rig: Rig,
  mount: typeof commonMount,
  given: number | undefined,
  edge: number,
  clearance: PickoffClearance,
  tradeOff: PickoffTradeOff,
): string[] {
  const { mirror, mainSensor, angleDeg } = mount;
  return [
    `${rig.name}: pick-off mirror of ${mirror.widthMm} x ${mirror.depthMm} mm, ${mirror.distanceMm} mm in front of a ` +
      `sensor of ${mainSensor.widthMm} x ${mainSensor.heightMm} mm, at ${angleDeg} degrees from its width`,
    `Inner edge ${mm(edge)} from the axis${given === undefined ? ' (the best depth below)' : ''}: ` +
      `${clearance.isClear ? 'clear' : 'not clear'}, as the worst pixel loses ` +
      `${percentOf(clearance.shadow.worst.loss)} of its light and ${significant(clearance.allowedLossPercent, 3)} % is allowed.`,
    shadeText(clearance),
    '',
    'How deep it may reach, by its rotation:',
    ...rotationTable(clearance),
    '',
    ...starText(clearance),
    '',
    `Depth against shade, light, error and focus limit of a star of V ${rig.guideStar.magnitude}, ` +
      `${tradeOff.focusShiftUm} µm out of its focus:`,
    ...depthTable(tradeOff),
    '',
    'Exact cones of straight rays past a thin flat mirror at 45 degrees; its mount is taken to be no wider than itself.',
    'Errors are 1 sigma, one axis, by formula. The noise-equivalent error (noise-eq.) and the focus limit are those of the',
    "rig's own method on the star of that depth, with its comet and what clips it. The best depth has the least error",
    'among those that are allowed.',
  ];
}

function shadeText({ shadow }: PickoffClearance): string {
  const { penumbraFromAxisMm, umbraFromAxisMm } = shadow;
  const full =
    umbraFromAxisMm === undefined ? 'no point is in full shade' : `full shade from ${mm(umbraFromAxisMm)} on`;
  return `Straight toward the mirror the half-shade begins ${mm(penumbraFromAxisMm)} from the axis; ${full}.`;
}

function rotationTable({ byRotation }: PickoffClearance): string[] {
  const shown = byRotation.filter(({ angleDeg }) => angleDeg % 15 === 0 || !Number.isInteger(angleDeg));
  const name = (angle: number): string =>
    angle === 0
      ? '0, short side'
      : angle === 90
        ? '90, long side'
        : Number.isInteger(angle)
          ? `${angle}`
          : `${angle.toFixed(1)}, corner`;
  return textTable([
    ['rotation', 'inner edge', 'guide star'],
    ['degrees', 'mm from axis', 'mm off axis'],
    ...shown.map(({ angleDeg, edgeFromAxisMm, starOffAxisMm }) => [
      name(angleDeg),
      edgeFromAxisMm.toFixed(1),
      starOffAxisMm.toFixed(1),
    ]),
  ]);
}

function starText({ star }: PickoffClearance): string[] {
  const { offAxisMm, keptFraction, pupil, walkPerFocus, aberrations } = star;
  const light = `Guide star: ${mm(offAxisMm)} off the axis, keeps ${percentOf(keptFraction)} of its light.`;
  if (pupil === undefined) return [light];
  const clipped = pupil.footprint
    ? `The mirror is ${significant(pupil.footprint.width, 3)} x ${significant(pupil.footprint.height, 3)} radii of the pupil` +
      `${pupil.clip ? `, the opening cuts at ${significant(pupil.clip.distance, 3)}` : ''}; ` +
      `the star walks ${significant(100 * walkPerFocus, 2)} µm for 100 µm of focus.`
    : 'Its beam is not clipped by the mirror.';
  if (aberrations === undefined) return [light, clipped, 'Its shape is not known: name the --design.'];
  return [
    light,
    clipped,
    `Coma ${significant(Math.abs(aberrations.tangentialComaUm), 3)} µm long, astigmatism ` +
      `${significant(aberrations.astigmatismUm, 3)} µm across; the main sensor's plane lies ` +
      `${significant(aberrations.medianFocusShiftUm, 3)} µm beyond the star's focus.`,
  ];
}

function depthTable({ depths, best }: PickoffTradeOff): string[] {
  const row = (depth: PickoffDepth): string[] => [
    depth.edgeFromAxisMm.toFixed(1),
    (100 * depth.worstLoss).toFixed(1),
    depth.star.offAxisMm.toFixed(1),
    (100 * depth.star.keptFraction).toFixed(1),
    depth.error ? depth.error.rmsSpotUm.toFixed(1) : 'none',
    depth.error ? significant(depth.error.leastErrorArcsec, 3) : 'none',
    depth.limits?.noiseEquivalentArcsec === undefined
      ? 'none'
      : significant(depth.limits.noiseEquivalentArcsec, 2),
    depth.limits === undefined ? 'none' : significant(depth.limits.focusLimitUm, 2),
    depth === best ? 'best' : depth.isAllowed ? 'allowed' : 'shades',
  ];
  return textTable([
    [
      'inner edge',
      'worst loss',
      'guide star',
      'light kept',
      'rms spot',
      'least error',
      'noise-eq.',
      'focus limit',
      '',
    ],
    ['mm from axis', '%', 'mm off axis', '%', 'µm', 'arcsec', 'arcsec', 'µm', ''],
    ...depths.map(row),
  ]);
}
