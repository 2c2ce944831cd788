/** A file, and what is found in it. */
import type { Estimate, Rig } from '@holdfast/sim';
import { significant } from '@holdfast/sim/internal';
import { markedFrameCaption, markedFrameFigure } from '../../../figures/marked-frame.ts';
import { estimateText, shown } from '../../../figures/number-words.ts';
import { type FrameMark, lightBeside } from '../../../reports/frame-marks.ts';
import type { Book } from '../../book.ts';
import type { Cell } from '../../cell.ts';
import { codeOf } from '../../code.ts';
import { liveSeed } from '../../compute/cell-of.ts';
import { exampleFrame } from '../../compute/example-frame.ts';
import {
  type Cut,
  type FileMeasured,
  type FileStar,
  type GivenFile,
  refusal,
} from '../../compute/measure-file.ts';
import code from '../../compute/measure-file.ts?raw';
import { controls } from '../../controls.ts';
import { type DropBox, dropBox } from '../../drop-box.ts';
import { element, paragraph } from '../../element.ts';
import { canvasPicture } from '../../figures/canvas-picture.ts';
import { starCut } from '../../figures/star-cut.ts';
import { inputValues } from '../../input-values.ts';
import type { TableBox } from '../../table-box.ts';
import { frameAnswer, type Verdict } from './frame-advice.ts';

/** How far out of focus the simulated frame is, um. */
const exampleShiftUm = 250;

/** Of the picture of the whole frame, px: it does not fill the screen. */
const mostWide = 620;

export const frameStars: Cell = {
  id: 'a-frame',
  title: 'Stars of a frame',
  content(book) {
    const box = dropBox(
      'Drop a frame here, or press to open one: FITS, PNG, TIFF, PGM, or a film (its first frame)',
      '.fits,.fit,.fts,.gz,.png,.tif,.tiff,.pgm,.ppm,.y4m,.avi',
    );
    book.define('file', [], () => inputValues(box));
    let last: { file: File; rig: string; end: AbortController; found: Promise<FileMeasured> } | undefined;
    /** Again only when another camera or telescope took it: the star that it shows changes the rig, too. */
    const measured = async (file: File, rig: Rig): Promise<FileMeasured> => {
      const camera = JSON.stringify([rig.telescope, rig.guideCamera]);
      if (last?.file !== file || last.rig !== camera) {
        last?.end.abort();
        const end = new AbortController();
        const refused = refusal(file);
        const found = refused
          ? Promise.resolve(refused)
          : // Not behind simulations of a rig that this star may replace.
            book.team('your-own-frame').runFirst(end.signal, 'measureFile', rig, file);
        last = { file, rig: camera, end, found };
      }
      return last.found;
    };
    book.define(
      'given',
      ['file', 'rig'],
      async (file: File | undefined, rig: Rig): Promise<GivenFile> =>
        file && { file, name: file.name, measured: await measured(file, rig) },
    );
    const whole = book.figure('whole-frame', 300);
    const figure = book.figure('measured-ring', 402);
    const table = book.table<FileStar>('stars-of-frame');
    const state = element('p', { class: 'state', role: 'status' });
    const said = element('p', { class: 'answer' });
    const result = element('div', { hidden: '' }, said, whole.element, table.element, figure.element);
    let drawn: { readonly star: FileStar; readonly cut: Cut } | undefined;
    book.show(['file'], (file: File | undefined) => {
      state.classList.remove('fault');
      state.textContent = file ? `Measuring ${file.name} …` : '';
    });
    book.show(['given'], (given: GivenFile) => {
      if (given === undefined) return;
      const { name, measured } = given;
      result.hidden = !measured.ok;
      said.replaceChildren();
      state.classList.toggle('fault', !measured.ok);
      if (!measured.ok) {
        state.textContent = `${name}: ${measured.message}`;
        return;
      }
      state.textContent = foundWords(name, measured);
      const { judged, stars } = measured;
      const chosen = judged.ok ? judged.star : 0;
      const star = stars[chosen];
      const which =
        chosen === 0
          ? 'The brightest star'
          : `Star ${chosen + 1} of the table, as brighter ones cannot be used`;
      drawn = { star, cut: measured.cut };
      figure.redraw(
        (options) => starCut(star, measured.cut, undefined, options),
        [
          shown(
            `${which}, one square per pixel. Solid line: the fitted ring. Dashed: the ring at which a star of this brightness reaches its limit. ` +
              'Below: mean light against the distance from the middle. ' +
              `SNR ${significant(star.snr, 3)}${star.saturatedFraction > 0 ? '; a part of it is saturated' : ''}${lightBeside(star)}.`,
          ),
        ],
      );
      const { marks, plate } = measured;
      whole.redraw(
        ({ width = mostWide, ...options }) =>
          markedFrameFigure(
            { plate, marks, picture: canvasPicture },
            { ...options, width: Math.min(width, mostWide) },
          ),
        [
          `The whole frame, ${plate.bin === 1 ? 'one square per pixel' : `one square per ${plate.bin} × ${plate.bin} px`}: ${markedFrameCaption(marks)}`,
        ],
      );
      table.redraw(tableOf(measured.stars, marks));
    });
    book.show(['given', 'judged'], (_: GivenFile, verdict: Verdict) => {
      if (drawn === undefined || verdict === undefined || verdict === 'waiting' || 'noVerdict' in verdict)
        return;
      const { star, cut } = drawn;
      if (!star.ring.ok || star.ring.absFocusShiftUm === undefined) return;
      said.replaceChildren(frameAnswer(verdict));
      if (verdict.limit === undefined) return;
      const umPerPx = star.ring.absFocusShiftUm.value / star.ring.outerDiameterPx.value;
      const limitPx = verdict.limit.limitUm.value / umPerPx;
      figure.redraw((options) => starCut(star, cut, limitPx, options));
    });
    return [
      paragraph(
        'This page measures the file on your machine; nothing is sent. Gain, read noise, pixel size and F‑number come from ' +
          'the header of the frame where it has them, otherwise from the rig of chapter\u00a01.',
      ),
      box,
      controls(simulatedButton(book, box)),
      state,
      result,
      codeOf('measure-file.ts', code),
    ];
  },
};

function simulatedButton(book: Book, box: DropBox): HTMLElement {
  const button = element('button', { type: 'button', class: 'press' }, 'take a simulated frame');
  let rig: Rig | undefined;
  book.show(['rig'], (newest: Rig) => {
    rig = newest;
  });
  button.addEventListener('click', () => {
    if (rig === undefined) return;
    box.value = new File([exampleFrame(rig, exampleShiftUm, liveSeed)], 'simulated.fits');
    box.dispatchEvent(new Event('input'));
  });
  return button;
}

function foundWords(name: string, measured: FileMeasured & { ok: true }): string {
  const { width, height, stars, notes } = measured;
  const told = `${name}: ${width} × ${height} px, ${stars.length} ${stars.length === 1 ? 'star' : 'stars'}.`;
  return [told, ...notes.map((note) => `Note: ${note}.`)].join(' ');
}

const ringOf = ({ ring }: FileStar): (typeof ring & { ok: true }) | undefined => (ring.ok ? ring : undefined);
const text = (estimate: Estimate | undefined): string => (estimate ? estimateText(estimate) : 'none');

/** @param marks  those of the stars first, in their order */
function tableOf(stars: readonly FileStar[], marks: readonly FrameMark[]): TableBox<FileStar> {
  const suspicion = (star: FileStar) => marks[stars.indexOf(star)].suspect;
  return {
    caption: [
      'Stars of the frame, numbered as in the figure, brightest first, ± one standard error. One frame cannot tell on which side of focus the camera is.',
    ],
    columns: [
      { head: 'star', isHead: true, cell: (star) => [`${stars.indexOf(star) + 1}`] },
      { head: 'place', unit: 'px', cell: ({ x, y }) => [shown(`x ${x.toFixed(1)}, y ${y.toFixed(1)}`)] },
      { head: 'SNR', isNumber: true, cell: ({ snr }) => [significant(snr, 3)] },
      { head: 'flux', unit: 'e⁻', isNumber: true, cell: ({ light }) => [text(light?.fluxE)] },
      {
        head: 'outer diameter',
        unit: 'px',
        isNumber: true,
        cell: (star) => [text(ringOf(star)?.outerDiameterPx)],
      },
      {
        head: 'half-light diameter',
        unit: 'px',
        isNumber: true,
        cell: ({ light }) => [text(light?.halfFluxDiameterPx)],
      },
      {
        head: 'focus shift, either side',
        unit: 'µm',
        isNumber: true,
        cell: (star) => [text(ringOf(star)?.absFocusShiftUm)],
      },
    ],
    rows: stars,
    note: (star) => {
      const reason = suspicion(star);
      return reason && `Trust it less: ${reason}.`;
    },
    record: (star) => {
      const ring = ringOf(star);
      return {
        star: stars.indexOf(star) + 1,
        'x (px)': star.x,
        'y (px)': star.y,
        SNR: star.snr,
        'flux (e-)': star.light?.fluxE.value,
        'standard error of flux (e-)': star.light?.fluxE.standardError,
        'half-light diameter (px)': star.light?.halfFluxDiameterPx.value,
        'outer diameter (px)': ring?.outerDiameterPx.value,
        'standard error of outer diameter (px)': ring?.outerDiameterPx.standardError,
        'inner diameter (px)': ring?.innerDiameterPx.value,
        'size of focus shift (um)': ring?.absFocusShiftUm?.value,
        'standard error of focus shift (um)': ring?.absFocusShiftUm?.standardError,
        'saturated fraction': star.saturatedFraction,
        'trust it less': suspicion(star),
      };
    },
  };
}
