/**
 * A frame says how large the ring is, how bright the star, how bright its sky; its header, what took it, as
 * far as the reader has not said it.
 */
import type { Rig } from '@holdfast/sim';
import type { Book } from '../book.ts';
import { umPerRingPx } from '../compute/derived.ts';
import type { GivenFile, HeaderRig } from '../compute/measure-file.ts';
import { magnitudeOf, skyMagnitudeOf } from '../compute/star-frame.ts';
import { quantityOf } from '../inputs-of.ts';
import { usualValues } from '../rig-form/complete-rig.ts';
import type { RigForm } from '../rig-form/rig-form.ts';
import { valueAt, withValue } from '../rig-form/rig-text.ts';
import type { RingNow } from './ring-now.ts';

export function takeFrames(book: Book, form: RigForm, ring: RingNow): void {
  const said = document.getElementById('from-frame') as HTMLElement;
  let isExample = !book.state.isRestored && book.printed === undefined;
  form.addEventListener('input', () => {
    isExample = false;
  });
  ring.addEventListener('input', () => {
    isExample = false;
  });
  let taken: File | undefined;
  let asked: File | undefined;
  let fromHeader: readonly string[] = [];
  book.show(['given', 'rig'], (given: GivenFile, rig: Rig) => {
    if (given === undefined || given.file === taken) return;
    const { measured, name, file } = given;
    if (!measured.ok) {
      taken = file;
      said.textContent = `${name}: ${measured.message}`;
      return;
    }
    if (asked !== file) {
      asked = file;
      fromHeader = takeHeader(form, measured.header, isExample);
      // It is measured again, as what took it.
      if (fromHeader.length > 0) return;
    }
    taken = file;
    const { judged, stars, perRigExposure, header } = measured;
    if (!judged.ok) {
      said.textContent = `${name}: no verdict, as ${judged.reason}.`;
      return;
    }
    const { ring: fit, light, backgroundE } = stars[judged.star];
    if (!fit.ok || fit.absFocusShiftUm === undefined || light === undefined) return;
    const px = Number((fit.absFocusShiftUm.value / umPerRingPx(rig)).toPrecision(3));
    const magnitude = magnitudeOf(rig, px, { fluxE: light.fluxE.value * perRigExposure });
    const sky = skyMagnitudeOf(rig, backgroundE.value * perRigExposure);
    form.put('guideStar.magnitude', magnitude);
    if (sky !== undefined) form.put('sky.skyMagPerArcsec2', sky);
    ring.set(px);
    const told = [
      `the ring of ${px} px`,
      `the star of magnitude ${magnitude}`,
      ...(sky === undefined ? [] : [`a sky of ${sky} mag per square arcsec`]),
    ];
    said.textContent = [
      `From ${name}: ${told.join(', ')}.`,
      ...(fromHeader.length > 0 ? [`From its header: ${fromHeader.join(', ')}.`] : []),
      ...(header.missing.length > 0
        ? [`Its header does not say: ${header.missing.join(', ')}. Check the numbers above.`]
        : []),
    ].join(' ');
  });
}

/** @returns what was written into the form, in words */
function takeHeader(form: RigForm, { values }: HeaderRig, isExample: boolean): readonly string[] {
  const before = form.value;
  const news = Object.entries(values).filter(([path, value]) => {
    const own = valueAt(before, path);
    const now = own ?? usualValues.find(({ field }) => field === path)?.value;
    return now !== value && (isExample || own === undefined);
  });
  if (news.length === 0) return [];
  form.value = news.reduce((text, [path, value]) => withValue(text, path, value), before);
  form.dispatchEvent(new CustomEvent('input'));
  return news.map(([path, value]) => {
    const { quantity, unit } = quantityOf(path.replace(/^.*\./, ''));
    return `${quantity} ${typeof value === 'number' ? Number(value.toPrecision(4)) : value}${unit && ` ${unit}`}`;
  });
}
