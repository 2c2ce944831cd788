/** The first screen: one question about one star, in one sentence, and its verdict. */
import type { Rig } from '@holdfast/sim';
import { shown } from '../../figures/number-words.ts';
import { type Book, invalidation, settled, signalOf } from '../book.ts';
import { liveSeed } from '../compute/cell-of.ts';
import { rigOfStar, umPerRingPx } from '../compute/derived.ts';
import { type LimitNow, limitNow, type StarNow, starNow } from '../compute/ring-now.ts';
import type { StarFrame } from '../compute/star-frame.ts';
import { element, paragraph } from '../element.ts';
import { inputValues } from '../input-values.ts';
import { enteredNumber } from '../number-entry.ts';
import { type CompleteRig, checkRig } from '../rig-form/complete-rig.ts';
import type { RigForm } from '../rig-form/rig-form.ts';
import type { RigText } from '../rig-form/rig-text.ts';
import { assumptionsLine } from './assumptions-line.ts';
import { filterStrip } from './filter-strip.ts';
import { largestRingPx, type RingNow, ringFault, ringNow } from './ring-now.ts';
import { ringScale } from './ring-scale.ts';
import { dragEdge, sideFor, starCanvas } from './star-canvas.ts';
import { takeFrames } from './take-frames.ts';
import { telescopeKinds } from './telescope-kinds.ts';
import { verdictWords } from './verdict-words.ts';

/** For which the workers serve it first. */
export const firstChapter = 'first';
const startPx = 16;

/**
 * Asks for the first answer before anything is set into the page: who asks for the same later is told what
 * was found meanwhile.
 */
export function askEarly(book: Book, text: RigText): void {
  const checked = checkRig(text);
  if (!('rig' in checked)) return;
  const { signal } = new AbortController();
  const ask = book.team(firstChapter).runFirst(signal, 'formulaLimit', rigOfStar(checked.rig));
  ask.catch(() => undefined);
}

/** @returns once the first verdict stands, or why there is none */
export function firstScreen(book: Book, form: RigForm, into: HTMLElement): Promise<void> {
  const ring = ringNow(startPx);
  const restored = book.state.restored('ringPx');
  if (typeof restored === 'number') ring.value = restored;
  book.keep('ringPx', ring, startPx);
  book.define('entered ringPx', [], () => inputValues(ring));
  book.define('ringPx', ['entered ringPx'], (px: RingNow['value']) => {
    const fault = ringFault(px);
    if (fault !== undefined) throw new RangeError(fault);
    return px;
  });
  // Without filters the report is about the star as it is now: its ring is the defocus of the guide camera.
  book.define('reportRing', ['completeRig'], ({ isOneFilter }: CompleteRig) =>
    isOneFilter ? inputValues(ring) : undefined,
  );
  book.define(
    'reportRig',
    ['completeRig', 'reportRing'],
    ({ rig, isOneFilter }: CompleteRig, px: RingNow['value']) => (isOneFilter ? defocused(rig, px) : rig),
  );
  const team = book.team(firstChapter, firstChapter);
  book.define(
    'limitNow',
    ['rig', 'frames', invalidation],
    (rig: Rig, frames: string, outdated: Promise<unknown>) =>
      limitNow(rig, Number(frames), team, signalOf(outdated)),
  );
  book.define(
    'starNow',
    ['rig', 'ringPx', 'frames', invalidation],
    (rig: Rig, px: number, frames: string, outdated: Promise<unknown>) =>
      starNow(rig, px, Number(frames), team, signalOf(outdated)),
  );
  const failures = new Map<string, Error>();
  const answered = new Promise<void>((resolve) => {
    for (const name of ['limitNow', 'starNow', 'live'])
      book.watchFailure(name, (error) => {
        if (error === undefined) failures.delete(name);
        else failures.set(name, error);
        form.failed([...failures.values()][0]);
        if (name === 'limitNow') resolve();
      });
  });
  const answer = element('div', { class: 'first-answer' });
  book.lookAt(firstChapter, answer);
  const which = element('div', { class: 'which-star' });
  book.define('starWords', ['rig', invalidation], async (rig: Rig, outdated: Promise<unknown>) => {
    const signal = signalOf(outdated);
    // The verdict goes first, and its first simulation.
    await answered;
    await settled(signal, 600);
    team.begin();
    return team.run(signal, 'starWords', rig);
  });
  const filters = element('div', { class: 'first-filters' });
  into.append(sentence(book, ring), rigLine(book, form), answer, filters, which);
  book.within(filters, () => filters.append(filterStrip(book)));
  takeFrames(book, form, ring);
  book.within(answer, () => answer.append(stars(book, ring), verdict(book, ring)));
  book.within(which, () => which.append(paragraph(book.text(['starWords'], shown))));
  return answered;
}

/** The rig with its guide camera out of focus by what makes the ring. */
function defocused(rig: Rig, px: RingNow['value']): Rig {
  const fault = ringFault(px);
  if (fault !== undefined) throw new RangeError(fault);
  return { ...rig, guideFocusShiftUm: Number(px) * umPerRingPx(rig) };
}

/** The question; its number is the ring. */
function sentence(book: Book, ring: RingNow): HTMLElement {
  const input = element('input', {
    id: 'ring-px',
    class: 'number',
    inputmode: 'decimal',
    autocomplete: 'off',
    size: '4',
    'aria-label': 'ring diameter, px',
    'aria-describedby': 'ring-fault',
  });
  const fault = element('span', { class: 'fault', id: 'ring-fault' });
  const show = () => {
    if (enteredNumber(input.value) !== ring.value)
      input.value = ring.value === undefined ? '' : String(ring.value);
    const words = ringFault(ring.value);
    fault.textContent = words === undefined ? '' : ` ${words}`;
    input.setAttribute('aria-invalid', String(words !== undefined));
  };
  input.addEventListener('input', () => ring.set(enteredNumber(input.value)));
  input.addEventListener('keydown', (event) => {
    const step = { ArrowUp: 1, ArrowDown: -1 }[event.key];
    if (step === undefined || typeof ring.value !== 'number') return;
    event.preventDefault();
    ring.set(Math.min(largestRingPx, Math.max(0, ring.value + step)));
  });
  ring.addEventListener('input', show);
  show();
  const example = element('span', {}, book.state.isRestored || book.printed ? '' : ', for example');
  book.state.onChange(() => example.replaceChildren());
  return element(
    'h1',
    {},
    'My guide star is a ring about ',
    element('span', { class: 'together' }, input, ' px'),
    ' across',
    example,
    '. Do I have to refocus the guide camera?',
    fault,
  );
}

/** What the answer rests on: telescope, guide camera, star. */
function rigLine(book: Book, form: RigForm): HTMLElement {
  const kind = element(
    'select',
    { id: 'telescope-kind' },
    element('option', { value: '' }, 'a telescope of my own'),
    ...telescopeKinds.map(({ name }) => element('option', {}, name)),
  );
  kind.addEventListener('input', (event) => {
    event.stopPropagation();
    const chosen = telescopeKinds.find(({ name }) => name === kind.value);
    if (chosen === undefined) return;
    const { name: _, ...telescope } = chosen;
    form.put('telescope', telescope);
  });
  const showKind = () => {
    const { apertureMm, focalLengthMm } = (form.value['telescope'] ?? {}) as Record<string, unknown>;
    const same = telescopeKinds.find(
      (each) => each.apertureMm === apertureMm && each.focalLengthMm === focalLengthMm,
    );
    kind.value = same?.name ?? '';
  };
  form.addEventListener('input', showKind);
  showKind();
  const ratio = book.text(['rig'], ({ telescope }: Rig) => {
    const ratio = telescope.focalLengthMm / telescope.apertureMm;
    return `f/${Number(ratio.toPrecision(2))}`;
  });
  const open = element('a', { href: '#your-own-frame' }, 'open a frame …');
  const field = (path: string, label: string, unit = '') => form.boxFor(path, { label, unit });
  const isNarrow = matchMedia('(max-width: 36rem)').matches;
  const summary = book.text(
    ['rig'],
    ({ telescope, guideCamera, guideStar }: Rig) =>
      `${kind.value || 'telescope'} of ${telescope.apertureMm} mm, pixels of ${guideCamera.pixelSizeUm} µm, star of magnitude ${guideStar.magnitude}`,
  );
  return element(
    'details',
    // On a phone the star and its verdict come first.
    { class: 'rig-line', ...(isNarrow ? {} : { open: '' }) },
    element('summary', {}, summary),
    element(
      'div',
      { class: 'rig-fields' },
      element(
        'div',
        { class: 'field choice' },
        element('label', { for: 'telescope-kind' }, 'telescope'),
        kind,
      ),
      field('telescope.apertureMm', 'aperture', 'mm'),
      field('telescope.focalLengthMm', 'focal length', 'mm'),
      element('span', { class: 'derived' }, ratio),
      field('telescope.obstructionRatio', 'obstruction'),
      field('guideCamera.pixelSizeUm', 'guide pixel', 'µm'),
      field('guideCamera.binning', 'binning'),
      field('guideStar.magnitude', 'star of magnitude'),
      snrField(book, form),
      element('span', { class: 'derived' }, open, ' or drop one anywhere'),
    ),
    element('p', { class: 'said', id: 'from-frame', role: 'status' }),
  );
}

/** Brightness as SNR of the ring: another view of the magnitude. */
function snrField(book: Book, form: RigForm): HTMLElement {
  const input = element('input', {
    id: 'snr-now',
    class: 'number',
    inputmode: 'decimal',
    autocomplete: 'off',
  });
  let now: { rig: Rig; px: number } | undefined;
  book.show(['starNow', 'rig'], ({ assessment, px }: StarNow, rig: Rig) => {
    now = { rig, px };
    if (document.activeElement !== input) input.value = String(Number(assessment.scene.snr.toPrecision(2)));
  });
  let typed = new AbortController();
  input.addEventListener('input', async () => {
    const snr = enteredNumber(input.value);
    typed.abort();
    typed = new AbortController();
    const { signal } = typed;
    if (now === undefined || typeof snr !== 'number' || !(snr > 0 && snr <= 1e5)) return;
    const found = book
      .team(firstChapter, firstChapter)
      .runFirst(signal, 'magnitudeOf', now.rig, now.px, { snr });
    // A newer number took the place of this one.
    const magnitude = await found.catch(() => undefined);
    if (magnitude !== undefined && !signal.aborted) form.put('guideStar.magnitude', magnitude);
  });
  return element(
    'div',
    { class: 'field number' },
    element('label', { for: 'snr-now' }, 'or SNR'),
    element('span', { class: 'entry' }, input),
  );
}

/** The star as it is, its edge to be dragged, and at its limit. */
function stars(book: Book, ring: RingNow): HTMLElement {
  const now = starCanvas('now (drag the ring’s edge)');
  now.element.id = 'star-now';
  const far = starCanvas('at the limit');
  dragEdge(now, (px) => ring.set(Math.min(largestRingPx, px)));
  const team = book.team(firstChapter, firstChapter);
  book.define('starSide', ['ringPx', 'limitNow'], (px: number, limit: LimitNow) =>
    sideFor(Math.max(px, Math.min(limit.px.value, 1.5 * Math.max(px, 30)))),
  );
  const frameOf = (rig: Rig, px: number, side: number, outdated: Promise<unknown>) =>
    team.runFirst(signalOf(outdated), 'starFrame', rig, Math.min(px, largestRingPx), side, liveSeed);
  book.define('frameNow', ['rig', 'ringPx', 'starSide', invalidation], frameOf);
  book.define(
    'frameAtLimit',
    ['rig', 'limitNow', 'starSide', invalidation],
    (rig: Rig, { px }: LimitNow, side: number, outdated: Promise<unknown>) =>
      frameOf(rig, px.value, side, outdated),
  );
  book.show(['frameNow', 'ringPx', 'starSide'], (frame: StarFrame, px: number, side: number) => {
    now.draw(frame, `One simulated frame of the star now: a ring of ${px} px.`, side);
  });
  book.show(['frameAtLimit', 'limitNow', 'starSide'], (frame: StarFrame, { px }: LimitNow, side: number) => {
    far.element.hidden = !(px.value > 0);
    far.draw(frame, `The same star at its limit: a ring of ${Math.round(px.value)} px.`, side);
  });
  return element('div', { class: 'stars-now' }, now.element, far.element);
}

function verdict(book: Book, ring: RingNow): HTMLElement {
  const head = element('p', { class: 'verdict-head' });
  const limitLine = element('p', { class: 'verdict-line' });
  const reason = element('p', { class: 'verdict-line' });
  const scale = ringScale();
  scale.slider.addEventListener('input', (event) => {
    event.stopPropagation();
    ring.set(Number(scale.slider.value));
  });
  const um = element('input', { id: 'ring-um', class: 'number', inputmode: 'decimal', autocomplete: 'off' });
  let umPerPx = Number.NaN;
  um.addEventListener('input', () => {
    const entered = enteredNumber(um.value);
    ring.set(typeof entered === 'number' ? entered / umPerPx : entered);
  });
  let star: StarNow | undefined;
  const box = element(
    'div',
    { class: 'verdict', id: 'verdict', 'aria-live': 'polite' },
    head,
    limitLine,
    reason,
  );
  const draw = (rig: Rig, px: number, limit: LimitNow): void => {
    const words = verdictWords(rig, px, limit, star);
    head.textContent = `${words.head}.`;
    head.className = `verdict-head ${words.outcome}`;
    limitLine.textContent = words.limit;
    reason.textContent = words.reason;
    ({ umPerPx } = limit);
    scale.draw(px, limit.px, umPerPx);
    if (document.activeElement !== um) um.value = String(Number((px * umPerPx).toPrecision(4)));
  };
  let last: Parameters<typeof draw> | undefined;
  book.show(['rig', 'ringPx', 'limitNow'], (...now: Parameters<typeof draw>) => {
    last = now;
    draw(...now);
  });
  book.show(['starNow', 'rig'], (newest: StarNow) => {
    star = newest;
    if (last) draw(...last);
  });
  return element(
    'div',
    {},
    box,
    scale.element,
    element(
      'p',
      { class: 'um-line' },
      element('label', { for: 'ring-um' }, 'The same as a distance from focus: '),
      um,
      ' µm at the guide sensor.',
    ),
    assumptionsLine(book),
  );
}
