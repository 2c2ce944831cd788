/** What the air leaves of each wave is worked out once per sky, wavelength and grid. */
import { expect, test } from 'vitest';
import { seeingTransfer } from '../../packages/psf/src/air/seeing.ts';
import { seeingTable } from '../../packages/psf/src/diffraction/seeing-table.ts';

const seeing = { fwhmArcsec: 2.5, outerScaleMm: 25000 };

test('each wave has the transfer of its length', () => {
  const transfer = seeingTransfer(seeing, 550);
  const table = seeingTable(seeing, 550, 1.7, 4);
  expect(table.length).toBe(15);
  for (let ky = 0, at = 0; ky <= 4; ky++)
    for (let kx = 0; kx <= ky; kx++) expect(table[at++]).toBe(transfer(1.7 * Math.sqrt(kx * kx + ky * ky)));
});

test('a table is kept for the next image, and for no other sky, wavelength, pupil or grid', () => {
  const table = seeingTable(seeing, 550, 1.7, 4);
  expect(seeingTable({ ...seeing }, 550, 1.7, 4)).toBe(table);
  const others = [
    seeingTable({ ...seeing, fwhmArcsec: 2.6 }, 550, 1.7, 4),
    seeingTable({ fwhmArcsec: 2.5 }, 550, 1.7, 4),
    seeingTable(seeing, 560, 1.7, 4),
    seeingTable(seeing, 550, 1.8, 4),
    seeingTable(seeing, 550, 1.7, 5),
  ];
  for (const other of others) expect(other).not.toEqual(table);
  expect(seeingTable(seeing, 550, 1.7, 4)).toBe(table);
});

test('the oldest of them goes after sixteen', () => {
  const table = seeingTable(seeing, 400, 1.7, 4);
  for (let k = 1; k < 16; k++) seeingTable(seeing, 400 + k, 1.7, 4);
  expect(seeingTable(seeing, 400, 1.7, 4)).toBe(table);
  seeingTable(seeing, 416, 1.7, 4);
  expect(seeingTable(seeing, 400, 1.7, 4)).not.toBe(table);
});

test('one too large to be kept is worked out again', () => {
  const table = seeingTable(seeing, 550, 0.01, 520);
  expect(seeingTable(seeing, 550, 0.01, 520)).not.toBe(table);
  expect(seeingTable(seeing, 550, 0.01, 520)).toEqual(table);
});
