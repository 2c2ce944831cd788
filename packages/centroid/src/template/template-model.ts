/** A template, or a family of them, as the model of a fit: values and derivatives on the pixels in use. */
import { requireFinite, requirePositive } from '@holdfast/psf/numerics';
import type { PixelList } from '../pixels/valid-pixels.ts';
import { type StarTemplate, sampleTemplate, type TemplateFamily } from './star-template.ts';
import {
  createTemplateValues,
  fillTemplate,
  type TemplateTable,
  type TemplateValues,
  tabulateTemplate,
} from './template-table.ts';

/** Grid points per pixel at which a plan is drawn. */
const perPixel = 4;

/** Templates of a family that a value between them rests on. */
const neighbors = 4;

/** More templates than these are surely a mistake. */
const maxMembers = 10_000;

/** A star of flux 1 on pixels, by position and, in a family, by its parameter. */
export class TemplateModel {
  readonly isFamily: boolean;
  /** Range of the parameter; 0 and 0 for a single template. */
  readonly from: number;
  readonly to: number;
  /** Values of the parameter at which there are templates. */
  readonly members: number;
  /** The values of the last `fill`. */
  values: TemplateValues = createTemplateValues(0);
  /** Change by the parameter, of a family. */
  byParameter = new Float64Array(0);

  readonly #member: (index: number) => StarTemplate;
  readonly #tables: (TemplateTable | undefined)[];
  #scratch: TemplateValues = createTemplateValues(0);
  readonly #step: number;

  constructor(template: StarTemplate | TemplateFamily) {
    this.isFamily = template !== null && typeof template === 'object' && 'templateAt' in template;
    if (this.isFamily) {
      const { templateAt, from, to, step } = template as TemplateFamily;
      if (typeof templateAt !== 'function')
        throw new TypeError(`template.templateAt must be a function, got ${typeof templateAt}`);
      requireFinite('template.from', from);
      requireFinite('template.to', to);
      requirePositive('template.step', step);
      if (!(to > from && (to - from) / step <= maxMembers))
        throw new RangeError(
          `template.to must be from + step to from + ${maxMembers} step, got ${to} with from ${from} and step ${step}`,
        );
      this.from = from;
      this.to = to;
      this.members = Math.max(neighbors, Math.ceil((to - from) / step - 1e-9) + 1);
      this.#step = (to - from) / (this.members - 1);
      this.#member = (i) => templateAt(from + i * this.#step);
      this.#tables = Array.from({ length: this.members });
    } else {
      this.from = 0;
      this.to = 0;
      this.members = 1;
      this.#step = 0;
      this.#member = () => template as StarTemplate;
      this.#tables = [tableOf(template as StarTemplate)];
    }
  }

  /** Make room for so many pixels. */
  reserve(pixels: number): void {
    this.values = createTemplateValues(pixels);
    if (!this.isFamily) return;
    this.#scratch = createTemplateValues(pixels);
    this.byParameter = new Float64Array(pixels);
  }

  /** Another template in place of a single one. */
  replace(template: StarTemplate): void {
    this.#tables[0] = tableOf(template);
  }

  parameterOf(member: number): number {
    return this.from + member * this.#step;
  }

  /** The table of a member; made when it is asked for first. */
  table(member: number): TemplateTable {
    let table = this.#tables[member];
    if (table === undefined) {
      table = tableOf(this.#member(member));
      this.#tables[member] = table;
    }
    return table;
  }

  /** The table of the member nearest to a parameter. */
  nearest(parameter: number): TemplateTable {
    return this.table(this.isFamily ? Math.round((parameter - this.from) / this.#step) : 0);
  }

  /** Fill `values`, and `byParameter`, for a star at (x, y) of the image. */
  fill(list: PixelList, x: number, y: number, parameter: number): void {
    if (!this.isFamily) {
      fillTemplate(this.values, list, this.table(0), x, y);
      return;
    }
    const { value, byX, byY } = this.values;
    const { value: memberValue, byX: memberByX, byY: memberByY } = this.#scratch;
    const { byParameter } = this;
    const { count } = list;
    const t = (parameter - this.from) / this.#step;
    const first = Math.max(0, Math.min(this.members - neighbors, Math.floor(t) - 1));
    for (const array of [value, byX, byY, byParameter]) array.fill(0, 0, count);
    for (let j = 0; j < neighbors; j++) {
      const { weight, slope } = lagrange(j, t - first);
      const perParameter = slope / this.#step;
      fillTemplate(this.#scratch, list, this.table(first + j), x, y);
      for (let k = 0; k < count; k++) {
        value[k] += weight * memberValue[k];
        byX[k] += weight * memberByX[k];
        byY[k] += weight * memberByY[k];
        byParameter[k] += perParameter * memberValue[k];
      }
    }
  }
}

/** Lagrange polynomial through 1 at j and 0 at the other places 0 to 3: its value and slope at t. */
function lagrange(j: number, t: number): { weight: number; slope: number } {
  let weight = 1;
  let slope = 0;
  for (let i = 0; i < neighbors; i++) {
    if (i === j) continue;
    slope = (slope * (t - i) + weight) / (j - i);
    weight = (weight * (t - i)) / (j - i);
  }
  return { weight, slope };
}

/** Of plans, which always draw the same star: several estimators, and many stars, share one table. */
const tables = new WeakMap<StarTemplate, TemplateTable>();

function tableOf(template: StarTemplate): TemplateTable {
  const isPlan = template !== null && typeof template === 'object' && 'renderInto' in template;
  const known = isPlan ? tables.get(template) : undefined;
  if (known !== undefined) return known;
  const table = tabulateTemplate(sampleTemplate(template, perPixel));
  if (isPlan) tables.set(template, table);
  return table;
}
