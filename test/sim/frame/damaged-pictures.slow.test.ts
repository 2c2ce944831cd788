/** The long form of the damaged pictures of frame-file.test.ts. */
import { expect, test } from 'vitest';
import { refusedPictures } from './damaged-pictures.ts';

test('1,500 damaged pictures give an image or a reason, and never throw', async () => {
  expect(await refusedPictures(1500)).toBeGreaterThan(500);
});
