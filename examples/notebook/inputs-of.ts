/**
 * A rig as a list of quantities: names and units are read from the names in its file, so that none is left
 * out.
 */
import type { Rig } from '@holdfast/sim';

export interface Input {
  readonly part: string;
  readonly quantity: string;
  readonly value: number | string;
  readonly unit: string;
}

/** Longest ending first: `EPerAdu` must not be read as `Adu`. */
const units: readonly (readonly [string, string])[] = [
  ['MagPerArcsec2', 'mag/arcsec²'],
  ['MagPerAirmass', 'mag/airmass'],
  ['EPerAdu', 'e⁻/ADU'],
  ['EPerS', 'e⁻/s'],
  ['ArcsecPerS', 'arcsec/s'],
  ['UmPerK', 'µm/K'],
  ['PerK', '1/K'],
  ['Percent', '%'],
  ['Arcsec', 'arcsec'],
  ['Adu', 'ADU'],
  ['MPerS', 'm/s'],
  ['Deg', '°'],
  ['Mm', 'mm'],
  ['Um', 'µm'],
  ['Nm', 'nm'],
  ['Px', 'px'],
  ['S', 's'],
  ['M', 'm'],
  ['K', 'K'],
  ['E', 'e⁻'],
];

export function inputsOf(rig: Rig): Input[] {
  const { filters, guideFocusShiftUm, ...parts } = rig;
  const grouped = Object.entries(parts).flatMap(([part, fields]) =>
    isGroup(fields) ? fieldsOf(spaced(part), fields) : [],
  );
  return [
    ...grouped,
    ...fieldsOf('focus shifts', { guideFocusShiftUm }),
    ...filters.map(({ name, focusShiftUm }) => ({
      part: 'focus shifts',
      quantity: name,
      value: focusShiftUm,
      unit: 'µm',
    })),
  ];
}

type Group = Readonly<Record<string, unknown>>;

const isGroup = (value: unknown): value is Group =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

/** A group within a group lends its name to its quantities, and so does each of several. */
function fieldsOf(part: string, fields: Group, within = ''): Input[] {
  return Object.entries(fields).flatMap(([name, value]) => {
    if (value === undefined) return [];
    if (Array.isArray(value) && value.some(isGroup))
      return value.flatMap((each: Group, i) => fieldsOf(part, each, `${within}${spaced(name)} ${i + 1}: `));
    if (isGroup(value)) return fieldsOf(part, value, `${within}${spaced(name)}: `);
    const { quantity, unit } = quantityOf(name);
    return [
      {
        part,
        quantity: `${within}${quantity}`,
        value: typeof value === 'number' ? value : Array.isArray(value) ? value.join(', ') : String(value),
        unit,
      },
    ];
  });
}

/** Names that are nothing but a unit. */
const wholeNames: Readonly<Record<string, { quantity: string; unit: string }>> = {
  umPerStep: { quantity: 'focuser step', unit: 'µm' },
  umPerK: { quantity: 'focus drift', unit: 'µm/K' },
};

/** `pixelSizeUm` -> pixel size, µm */
export function quantityOf(name: string): { quantity: string; unit: string } {
  const whole = wholeNames[name];
  if (whole !== undefined) return whole;
  const [ending, unit] = units.find(([end]) => name.endsWith(end) && name !== end) ?? ['', ''];
  const quantity = spaced(name.slice(0, name.length - ending.length));
  return { quantity: fullNames[quantity] ?? quantity, unit };
}

/** Names that say too little without their unit. */
const fullNames: Readonly<Record<string, string>> = { dark: 'dark current', sky: 'sky brightness' };

/** `seeingFwhm` -> `seeing FWHM` */
export function spaced(name: string): string {
  return name
    .replace(/[A-Z]/g, (letter) => ` ${letter.toLowerCase()}`)
    .replace(/\bf number\b/, 'F-number')
    .replace(/\bfwhm\b/, 'FWHM')
    .replace(/\brms\b/, 'rms')
    .replace(/\bpickoff\b/, 'pick-off')
    .trim();
}
