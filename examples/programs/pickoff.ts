/** Does the pick-off shade the main sensor, what does its guide star get, and how deep should it reach? */
import {
  designOf,
  type PickoffClearance,
  type PickoffDepth,
  type PickoffTradeOff,
  pickoffClearance,
  pickoffTradeOff,
  type Rig,
} from '@holdfast/sim';
import { significant } from '@holdfast/sim/internal';
import { textTable } from '../reports/text-table.ts';
import { UnusableInput } from './command-line/command-line.ts';
import { withUserNumbers } from './command-line/number-options.ts';
import { type PickoffCommand, pickoffHelp, readPickoffCommand } from './command-line/pickoff-command.ts';
import { readRig } from './command-line/read-rig.ts';
import { runProgram } from './command-line/run-program.ts';

runProgram(async (args) => {
  const command = readPickoffCommand(args);
  if (command.help) {
    console.log(pickoffHelp);
    return;
  }
  const rig = readRig(command.rig);
  const tradeOff = withUserNumbers(() => pickoffTradeOff(rig, command.mount));
  const edgeFromAxisMm = command.edgeFromAxisMm ?? tradeOff.best?.edgeFromAxisMm;
  if (edgeFromAxisMm === undefined)
    throw new UnusableInput(
      `no depth gives the guide star light and shades no pixel by more than ${percentOf(tradeOff.allowedLoss)}; ` +
        'give --edge to look at one, or another --mirror, --distance, --opening or --allowed-loss',
    );
  const design = command.mount.design ?? designOf(rig);
  const { design: _, ...telescope } = rig.telescope;
  const pickoff = { ...telescope, ...command.mount, ...(design ? { design } : {}), edgeFromAxisMm };
  const clearance = withUserNumbers(() => pickoffClearance(pickoff));
  if (command.json)
    console.log(JSON.stringify({ rig: rig.name, pickoff, clearance, tradeOff }, undefined, 2));
  else console.log(textOf(rig, command, edgeFromAxisMm, clearance, tradeOff).join('\n'));
});

function percentOf(share: number): string {
  return `${significant(100 * share, 3)} %`;
}

function mm(length: number): string {
  return `${length.toFixed(1)} mm`;
}

function textOf(
  rig: Rig,
  { mount, edgeFromAxisMm: given }: PickoffCommand,
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
      `${percentOf(clearance.shadow.worst.loss)} of its light and ${percentOf(clearance.allowedLoss)} is allowed.`,
    shadeText(clearance),
    '',
    'How deep it may reach, by its rotation:',
    ...rotationTable(clearance),
    '',
    ...starText(clearance),
    '',
    `Depth against shade, light and the least possible error of a star of V ${rig.guideStar.magnitude}, ` +
      `${tradeOff.focusShiftUm} um out of its focus:`,
    ...depthTable(tradeOff),
    '',
    'Exact cones of straight rays past a thin flat mirror at 45 degrees; its mount is taken to be no wider than itself.',
    'Errors are 1 sigma, one axis, by formula. The best depth has the least error among those that are allowed.',
  ];
}

function shadeText({ shadow }: PickoffClearance): string {
  const { penumbraFromAxisMm, umbraFromAxisMm } = shadow;
  const full =
    umbraFromAxisMm === undefined ? 'no point is in full shade' : `full shade from ${mm(umbraFromAxisMm)} on`;
  return `Straight towards the mirror the half-shade begins ${mm(penumbraFromAxisMm)} from the axis; ${full}.`;
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
      `the star walks ${significant(100 * walkPerFocus, 2)} um for 100 um of focus.`
    : 'Its beam is not clipped by the mirror.';
  if (aberrations === undefined) return [light, clipped, 'Its shape is not known: name the --design.'];
  return [
    light,
    clipped,
    `Coma ${significant(Math.abs(aberrations.tangentialComaUm), 3)} um long, astigmatism ` +
      `${significant(aberrations.astigmatismUm, 3)} um across; the main sensor's plane lies ` +
      `${significant(aberrations.medianFocusShiftUm, 3)} um beyond the star's focus.`,
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
    depth === best ? 'best' : depth.isAllowed ? 'allowed' : 'shades',
  ];
  return textTable([
    ['inner edge', 'worst loss', 'guide star', 'light kept', 'rms spot', 'least error', ''],
    ['mm from axis', '%', 'mm off axis', '%', 'um', 'arcsec', ''],
    ...depths.map(row),
  ]);
}
