/** FITS files built card by card, independently of the writer under test. */

/** A header of these cards (END is added) and its data, each filled up to blocks of 2880 bytes. */
export function fitsUnit(cards: readonly string[], data: Uint8Array = new Uint8Array(0)): Uint8Array {
  const header = new Uint8Array(roundUp((cards.length + 1) * 80)).fill(32);
  [...cards, 'END'].forEach((card, k) => {
    header.set(latin1(card.slice(0, 80)), 80 * k);
  });
  return joinBytes(header, data, new Uint8Array(roundUp(data.length) - data.length));
}

/** Mandatory cards of a primary unit, or of an extension when `extension` names its type. */
export function mandatoryCards(bitpix: number, axes: readonly number[], extension?: string): string[] {
  return [
    extension === undefined ? card('SIMPLE', 'T') : card('XTENSION', `'${extension.padEnd(8)}'`),
    card('BITPIX', bitpix),
    card('NAXIS', axes.length),
    ...axes.map((side, k) => card(`NAXIS${k + 1}`, side)),
    ...(extension === undefined ? [] : [card('PCOUNT', 0), card('GCOUNT', 1)]),
  ];
}

export const card = (keyword: string, value: string | number): string =>
  `${keyword.padEnd(8)}= ${String(value).padStart(20)}`;

/** Big-endian stored values of one BITPIX code. */
export function storedValues(bitpix: number, values: readonly (number | bigint)[]): Uint8Array {
  const width = Math.abs(bitpix) / 8;
  const view = new DataView(new ArrayBuffer(values.length * width));
  values.forEach((value, k) => {
    if (bitpix === 64) view.setBigInt64(k * 8, BigInt(value));
    else if (bitpix === 8) view.setUint8(k, Number(value));
    else if (bitpix === 16) view.setInt16(2 * k, Number(value));
    else if (bitpix === 32) view.setInt32(4 * k, Number(value));
    else if (bitpix === -32) view.setFloat32(4 * k, Number(value));
    else view.setFloat64(8 * k, Number(value));
  });
  return new Uint8Array(view.buffer);
}

export function joinBytes(...parts: readonly Uint8Array[]): Uint8Array {
  const out = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    out.set(part, at);
    at += part.length;
  }
  return out;
}

export const latin1 = (text: string): Uint8Array => Uint8Array.from(text, (letter) => letter.charCodeAt(0));

const roundUp = (length: number): number => Math.ceil(length / 2880) * 2880;
