/** Ring and comet at once. */
import type { Rig } from '@holdfast/sim';
import { significant } from '@holdfast/sim/internal';
import { shown } from '../../../figures/number-words.ts';
import { invalidation, rigName, signalOf } from '../../book.ts';
import type { Cell } from '../../cell.ts';
import { codeOf } from '../../code.ts';
import {
  aberrationsOf,
  type DesignName,
  type EdgePicture,
  type EdgeSetting,
  rigAtEdge,
} from '../../compute/edge-star.ts';
import code from '../../compute/edge-star.ts?raw';
import { choiceControl, controls, rangeControl } from '../../controls.ts';
import { paragraph, source } from '../../element.ts';
import { edgePlates } from '../../figures/edge-plates.ts';

const designs = new Map<string, DesignName>([
  ['one parabolic mirror', 'paraboloid'],
  ['two mirrors, paraboloid and hyperboloid', 'classical-cassegrain'],
  ['two hyperboloids, free of coma', 'ritchey-chretien'],
  ['as the rig says, else one parabolic mirror', 'rig'],
]);

export const edgeShape: Cell = {
  id: 'ring-and-comet',
  title: 'Ring and comet',
  content(book) {
    const figure = book.figure('star-at-the-edge', 222);
    const design = choiceControl<DesignName>(book, 'design', 'telescope', designs, 'rig');
    const offAxis = rangeControl(book, 'offAxis', {
      label: 'distance from the axis',
      unit: 'mm',
      extent: [0, 25],
      step: 0.1,
      value: 10,
    });
    const clip = rangeControl(book, 'edgeClip', {
      label: 'edge that clips the beam, radii',
      extent: [0, 1],
      step: 0.01,
      value: 0.7,
    });
    const shift = rangeControl(book, 'edgeShift', {
      label: 'largest focus shift',
      unit: 'µm',
      extent: [0, 1000],
      step: 5,
      value: 250,
    });
    book.define(
      'edgeRig',
      [rigName('edge-of-field'), 'design', 'offAxis', 'edgeClip'],
      (rig: Rig, design: DesignName, offAxisMm: number, clipDistance: number) =>
        rigAtEdge(rig, { design, offAxisMm, clipDistance } satisfies EdgeSetting),
    );
    book.define(
      'edgePictures',
      ['edgeRig', 'edgeShift', invalidation],
      (rig: Rig, largest: number, outdated: Promise<unknown>) => {
        const signal = signalOf(outdated);
        const team = book.team('edge-of-field', 'star-at-the-edge');
        return Promise.all(
          [-1, -0.5, 0, 0.5, 1].map((part) =>
            team.runFirst(signal, 'edgePicture', rig, Math.round(part * largest)),
          ),
        );
      },
    );
    book.show(['edgePictures', 'edgeRig'], (pictures: readonly EdgePicture[], rig: Rig) =>
      figure.redraw(
        (options) => edgePlates(pictures, options),
        [
          'The expected star without noise, one square per pixel. The axis is to the left. Ticks: center of its light in ' +
            'focus. Square: center of its light at this focus shift. ',
          shown(aberrationWords(rig)),
        ],
      ),
    );
    return [
      paragraph(
        'Away from the axis most telescopes turn a star into a small comet (coma). On either side of focus it becomes a short line ' +
          '(astigmatism). Out of focus, comet and ring mix. The focus shift counts from the best focus of this star.',
      ),
      controls(design, offAxis, clip, shift),
      figure.element,
      source(
        'Source: third-order coma, astigmatism and field curvature by D. J. Schroeder, Astronomical Optics, 2nd ed. (2000), ' +
          'chapter 6 (from memory); the picture is made of rays, blurred by air and diffraction as by a Gaussian.',
      ),
      codeOf('edge-star.ts', code),
    ];
  },
};

function aberrationWords(rig: Rig): string {
  const found = aberrationsOf(rig);
  if (found === undefined) return '';
  const { tangentialComaUm, astigmatismUm, medianFocusShiftUm } = found;
  return (
    `Here the comet is ${significant(Math.abs(tangentialComaUm), 2)} µm long, the smallest disk of the astigmatism ` +
    `${significant(astigmatismUm, 2)} µm wide, and the star’s focus lies ${significant(Math.abs(medianFocusShiftUm), 2)} µm from that on the axis.`
  );
}
