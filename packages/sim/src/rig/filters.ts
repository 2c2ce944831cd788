/** The filters of a rig: their focus shifts in one of three ways, brought to um. */
import { glassFocusShiftUm, glassIndex } from '@holdfast/psf';
import { z } from 'zod';
import { RigError, type RigFault, shown } from './rig-fault.ts';
import { nonNegative, plainName, positive } from './rig-quantity.ts';

const ways = ['focusShiftUm', 'focuserSteps', 'glass'] as const;

const glass = () =>
  z
    .strictObject({
      thicknessMm: nonNegative('Thickness of the filter, mm; 0 for an empty place.').max(50),
      index: z.number().min(1).max(3).describe('Refractive index.').optional(),
      material: z
        .enum(['N-BK7', 'fused-silica'])
        .describe('Glass whose index is known, instead of index.')
        .optional(),
    })
    .describe('The filter as a plane plate of glass; the reference filter must be given so, too.');

/** Largest focus shift of a filter on either side, um. */
const farthestUm = 20000;

export const filterSchema = () =>
  z
    .strictObject({
      name: plainName(60, 'Name of the filter.'),
      focusShiftUm: z
        .number()
        .min(-farthestUm)
        .max(farthestUm)
        .describe(
          'How far the focuser moves for this filter, µm; > 0 = the guide sensor ends beyond its best focus.',
        )
        .optional(),
      focuserSteps: z
        .number()
        .min(-1e7)
        .max(1e7)
        .describe(
          'Focuser position at best focus, steps; only the difference to the reference filter counts.',
        )
        .optional(),
      glass: glass().optional(),
      band: z
        .strictObject({
          wavelengthNm: z.number().min(300).max(1100).describe('Middle of the band that it passes, nm.'),
          bandwidthNm: positive('Width of that band, nm.').max(1000),
        })
        .describe('What the filter passes, where the filters stand before the pick-off.')
        .optional(),
      minutes: nonNegative(
        'Minutes that this filter is exposed for; only their ratio counts. For every filter or for none.',
      )
        .max(100000)
        .optional(),
    })
    .meta({
      description: 'A filter and its focus shift in one of three ways: focusShiftUm, focuserSteps or glass.',
      oneOf: ways.map((way) => ({ required: [way] })),
    });

export const focuserSchema = () =>
  z
    .strictObject({
      moves: z
        .enum(['cameras', 'first-mirror'])
        .describe(
          'What the focuser moves: main and guide camera together, or the first mirror, as in many catadioptric telescopes. ' +
            'Either way both cameras lose the focus by the same amount; a first mirror also tilts as it slides, which moves the stars.',
        )
        .default('cameras'),
      umPerStep: z
        .number()
        .min(-1000)
        .max(1000)
        .refine((value) => value !== 0, { message: 'a number other than 0' })
        .describe(
          'How far one step moves the cameras beyond the focus, µm; < 0 when it brings them before it. For a first mirror: by how much the focus itself moves.',
        ),
      focusRun: z
        .strictObject({
          positions: z.int().min(3).max(51).describe('Focuser positions that a focus run visits.').default(9),
          spacingUm: positive('From one position to the next, µm.').max(5000),
          secondsEach: positive('Time at each position, s.').max(600).default(6),
          moveS: positive('Time for a move, s.').max(60).default(1),
        })
        .describe('What a focus run of the main camera does.')
        .optional(),
    })
    .describe('The focuser that carries main and guide camera.');

/** A filter with its focus shift in um, however the file gives it. */
export interface RigFilter {
  /** Name of the filter. */
  readonly name: string;
  /** How far the focuser moves for it, um; > 0 = the guide sensor ends beyond its best focus. */
  readonly focusShiftUm: number;
  /**
   * Minutes that it is exposed for; only their ratio counts. Undefined for all filters when their share is
   * not given.
   */
  readonly minutes?: number;
  /** What it passes, nm; where the filters stand before the pick-off. */
  readonly band?: { readonly wavelengthNm: number; readonly bandwidthNm: number };
}

type FilterInput = z.output<ReturnType<typeof filterSchema>>;

/** The part of a rig that the shifts depend on. */
export interface FilterList {
  readonly filters: readonly FilterInput[];
  readonly referenceFilter?: string | undefined;
  readonly focuser?: z.output<ReturnType<typeof focuserSchema>> | undefined;
  readonly guideCamera: { readonly wavelengthNm: number };
  readonly filtersStand?: 'behind-pickoff' | 'before-pickoff' | undefined;
}

/**
 * Focus shifts in um:
 *
 *   focusShiftUm    as it is
 *   focuserSteps    shift of the reference + (steps - steps of the reference) * umPerStep
 *   glass           shift of the reference + t (1 - 1/n) - t (1 - 1/n) of the reference      (paraxial)
 *
 * A thicker filter moves the focus of the main camera away from the telescope; the focuser follows and takes
 * the guide camera, whose light does not pass the filter, beyond its own focus by as much: shift > 0. The
 * shift of a reference that is given in steps or as glass is 0. Before the pick-off, a filter moves the focus
 * of both cameras alike: every shift is 0. Not in it: what the telescope itself focuses elsewhere in another
 * color.
 *
 * @throws RigError for a filter whose shift comes out beyond 20 mm
 */
export function resolveFilters(rig: FilterList): RigFilter[] {
  const { filters, referenceFilter } = rig;
  const reference = filters.find(({ name }) => name === referenceFilter) ?? filters[0];
  const resolved = filters.map((filter) => ({
    name: filter.name,
    focusShiftUm: rig.filtersStand === 'before-pickoff' ? 0 : shiftOf(filter, reference, rig),
    ...(filter.band === undefined ? {} : { band: filter.band }),
    ...(filter.minutes === undefined ? {} : { minutes: filter.minutes }),
  }));
  const faults = resolved.flatMap(({ focusShiftUm }, i) =>
    Math.abs(focusShiftUm) > farthestUm
      ? [
          {
            field: `filters[${i}]`,
            got: `a shift of ${focusShiftUm} µm`,
            allowed: `within ${farthestUm} µm of its reference`,
          },
        ]
      : [],
  );
  if (faults.length > 0) throw new RigError(faults);
  return resolved;
}

function shiftOf(
  { focusShiftUm, focuserSteps, glass }: FilterInput,
  reference: FilterInput,
  { focuser, guideCamera: { wavelengthNm } }: FilterList,
): number {
  const from = reference.focusShiftUm ?? 0;
  if (focuserSteps !== undefined)
    return from + (focuserSteps - (reference.focuserSteps ?? 0)) * (focuser?.umPerStep ?? 0);
  if (glass !== undefined && reference.glass !== undefined)
    return from + plateShiftUm(glass, wavelengthNm) - plateShiftUm(reference.glass, wavelengthNm);
  return focusShiftUm ?? 0;
}

function plateShiftUm(
  { thicknessMm, index, material }: z.output<ReturnType<typeof glass>>,
  wavelengthNm: number,
): number {
  const refractiveIndex = index ?? (material === undefined ? 1 : glassIndex(material, wavelengthNm));
  return glassFocusShiftUm({ thicknessMm, refractiveIndex });
}

/** What is wrong between the filters of a rig file, whatever else is wrong with it. */
export function filterFaults(input: unknown): RigFault[] {
  const { filters, focuser, referenceFilter, filtersStand } = (input ?? {}) as Record<string, unknown>;
  if (!Array.isArray(filters)) return [];
  const list = filters.map((entry: unknown) =>
    typeof entry === 'object' && entry !== null ? (entry as Record<string, unknown>) : undefined,
  );
  const names = list.map((entry) => entry?.['name']);
  const first = list.findIndex((entry) => entry?.['focuserSteps'] !== undefined);
  return [
    ...list.flatMap((entry, i) => (entry === undefined ? [] : wayFaults(entry, `filters[${i}]`))),
    ...repeatedNames(names),
    ...(first >= 0 && focuser === undefined
      ? [{ field: 'focuser', got: 'nothing', allowed: `given, since filters[${first}] is given in steps` }]
      : []),
    ...referenceFaults(list, names, referenceFilter),
    ...minuteFaults(list),
    ...(filtersStand === 'before-pickoff' ? bandFaults(list) : []),
  ];
}

/** A shift is given in one way and no other. */
function wayFaults(entry: Record<string, unknown>, field: string): RigFault[] {
  const given = ways.filter((way) => entry[way] !== undefined);
  if (given.length === 0)
    return [{ field: `${field}.focusShiftUm`, got: 'nothing', allowed: 'given (or focuserSteps, or glass)' }];
  const others = given.slice(1).map((way) => ({
    field: `${field}.${way}`,
    got: shown(entry[way]),
    allowed: `left out, since ${given[0]} gives the shift`,
  }));
  return [...others, ...glassFaults(entry['glass'], `${field}.glass`)];
}

function glassFaults(plate: unknown, field: string): RigFault[] {
  if (typeof plate !== 'object' || plate === null) return [];
  const { thicknessMm, index, material } = plate as Record<string, unknown>;
  if (index !== undefined && material !== undefined)
    return [
      { field: `${field}.material`, got: shown(material), allowed: 'left out, since index gives the index' },
    ];
  if (index === undefined && material === undefined && thicknessMm !== 0)
    return [{ field: `${field}.index`, got: 'nothing', allowed: 'given (or material)' }];
  return [];
}

/** Filters are named in answers, so no two may share a name. */
function repeatedNames(names: readonly unknown[]): RigFault[] {
  return names.flatMap((name, i) => {
    const first = names.indexOf(name);
    if (typeof name !== 'string' || first === i) return [];
    const allowed = `a name of its own (filters[${first}] has this one)`;
    return [{ field: `filters[${i}].name`, got: shown(name), allowed }];
  });
}

function referenceFaults(
  list: readonly (Record<string, unknown> | undefined)[],
  names: readonly unknown[],
  referenceFilter: unknown,
): RigFault[] {
  const at = referenceFilter === undefined ? 0 : names.indexOf(referenceFilter);
  if (at < 0) {
    const allowed = `one of ${names.filter((name) => typeof name === 'string').join(', ')}`;
    return typeof referenceFilter === 'string'
      ? [{ field: 'referenceFilter', got: shown(referenceFilter), allowed }]
      : [];
  }
  const plate = list.findIndex((entry) => entry?.['glass'] !== undefined);
  if (plate < 0 || list[at] === undefined || list[at]?.['glass'] !== undefined) return [];
  const allowed = `given in place of its shift, since filters[${plate}] is reckoned from the glass of this one`;
  return [{ field: `filters[${at}].glass`, got: 'nothing', allowed }];
}

/** Before the pick-off a filter decides what the guide camera sees. */
function bandFaults(list: readonly (Record<string, unknown> | undefined)[]): RigFault[] {
  return list.flatMap((entry, i) =>
    entry !== undefined && entry['band'] === undefined
      ? [
          {
            field: `filters[${i}].band`,
            got: 'nothing',
            allowed: 'given, since the filters stand before the pick-off',
          },
        ]
      : [],
  );
}

function minuteFaults(list: readonly (Record<string, unknown> | undefined)[]): RigFault[] {
  const minutes = list.map((entry) => entry?.['minutes']);
  const given = minutes.findIndex((value) => value !== undefined);
  if (given < 0) return [];
  const missing = minutes.flatMap((value, i) =>
    value === undefined && list[i] !== undefined
      ? [
          {
            field: `filters[${i}].minutes`,
            got: 'nothing',
            allowed: `given, since filters[${given}] has its minutes`,
          },
        ]
      : [],
  );
  if (missing.length === 0 && minutes.every((value) => value === 0))
    return [{ field: `filters[${given}].minutes`, got: '0', allowed: '> 0 for at least one filter' }];
  return missing;
}
