import { decisionText, percent, significant, withError } from '@holdfast/sim/internal';
import { expect, test } from 'vitest';

test.each([
  [0.21234, 0.0041, '0.212 ± 0.004'],
  [0.21234, 0.0141, '0.212 ± 0.014'],
  [12345.6, 23, '12346 ± 23'],
  [360.2, 5.1, '360 ± 5'],
  [0.0103, 0.000319, '0.0103 ± 0.0003'],
  [2, 0, '2.00'],
  [-0.5, 0.02, '-0.50 ± 0.02'],
])('%d with error %d reads %s', (value, standardError, text) => {
  expect(withError({ value, standardError })).toBe(text);
});

test.each([
  [0.1257, 0.0011, '0.1'],
  [3.2449, 0.1312, '3.2 ± 0.1'],
  [97.94, 16.83, '98 ± 17'],
  [0.009, 0.0003, 'less than 0.1'],
  [4512.3, 12.1, 'more than 100'],
])('%d with error %d reads %s where 5 is allowed', (value, standardError, text) => {
  expect(decisionText({ value, standardError }, 5)).toBe(text);
});

test('of nothing that is allowed, as many digits as the error leaves', () => {
  expect(decisionText({ value: 0.1257, standardError: 0.0011 }, 0)).toBe('0.1257 ± 0.0011');
});

test.each([
  [0, 3, '0'],
  [1234.5, 2, '1235'],
  [0.00123, 2, '0.0012'],
  [99.96, 3, '100.0'],
])('%d to %d digits reads %s', (value, digits, text) => {
  expect(significant(value, digits)).toBe(text);
});

test.each([
  [0, '0.0 %'],
  [0.0002, '< 0.1 %'],
  [0.0234, '2.3 %'],
  [0.5, '50 %'],
])('the fraction %d reads %s', (fraction, text) => {
  expect(percent(fraction)).toBe(text);
});
