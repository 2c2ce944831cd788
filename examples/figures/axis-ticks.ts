/** Round numbers for the axes that are not linear. */

/** 1, 2, 5, 10 ... within a range, only as many as the room allows. */
export function logTicks(low: number, high: number, most: number): number[] {
  for (const steps of [[1, 2, 5], [1, 3], [1]]) {
    const ticks: number[] = [];
    for (let decade = Math.floor(Math.log10(low)); decade <= Math.ceil(Math.log10(high)); decade++)
      for (const step of steps) {
        const tick = Number(`${step}e${decade}`);
        if (tick >= low && tick <= high) ticks.push(tick);
      }
    if (ticks.length <= most || steps.length === 1) return ticks;
  }
  return [];
}

/** 0 and round numbers on a square-root axis of a given length, none closer than `apart` px to the next. */
export function rootTicks(high: number, lengthPx: number, apart: number): number[] {
  const place = (value: number) => lengthPx * Math.sqrt(value / high);
  const ticks = [0];
  for (const tick of logTicks(high / 1e4, high, 100))
    if (place(tick) - place(ticks[ticks.length - 1]) >= apart) ticks.push(tick);
  return ticks;
}

/** A round number without digits that say nothing. */
export const tickText = (value: number): string => String(Number(value.toPrecision(6)));

/** About so many round numbers from 0 at even distances. */
export function evenTicks(high: number, about: number): number[] {
  const rough = high / about;
  const decade = 10 ** Math.floor(Math.log10(rough));
  const step = decade * ([1, 2, 5, 10].find((part) => part * decade >= rough) ?? 10);
  return Array.from({ length: 1 + Math.floor(high / step) }, (_, i) => i * step);
}
