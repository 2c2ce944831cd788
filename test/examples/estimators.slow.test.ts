/** The comparison of estimators as users start it: the same numbers, drawn again from the same seed. */
import { expect, test } from 'vitest';
import { answerHere, runExample } from './run-example.ts';

test('started by its command it prints the same, as a table and as JSON, and says nothing on the side', async () => {
  const args = ['--frames', '16'];
  const { text, data } = await answerHere('estimators', args);
  const asTable = runExample('estimators', args);
  expect(asTable).toMatchObject({ status: 0, stderr: '' });
  expect(asTable.stdout.trim()).toBe(text.trim());
  const asJson = runExample('estimators', [...args, '--json']);
  expect(asJson).toMatchObject({ status: 0, stderr: '' });
  expect(JSON.parse(asJson.stdout)).toEqual(data);
});
