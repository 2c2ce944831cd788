import { expect, test } from 'vitest';
import { Rehearsal } from '../../examples/notebook/work/rehearsal.ts';

interface Order {
  readonly task: string;
  readonly args: readonly unknown[];
  readonly isRehearsal?: boolean;
}
const order = (task: string, ...args: readonly unknown[]): Order => ({ task, args });
const rig = { telescope: { apertureMm: 120 } };

test('what came last is done again by each worker in turn, each time for another rig by a hair', () => {
  const rehearsal = new Rehearsal<Order>();
  const [first, second] = [{ name: 'first' }, { name: 'second' }];
  rehearsal.note(first, order('walkThroughFocus', rig), 5);
  rehearsal.note(first, order('edgePicture', rig, 250), 5);
  const done: string[] = [];
  const apertures = new Set<number>();
  for (let i = 0; i < 100; i++) {
    const found = rehearsal.next([first, second]);
    if (found === undefined) break;
    const { worker, order: again } = found;
    done.push(`${worker.name} ${again.task}`);
    expect(again.isRehearsal).toBe(true);
    const [{ telescope }, ...others] = again.args as [typeof rig, ...unknown[]];
    expect(others).toEqual(again.task === 'edgePicture' ? [250] : []);
    expect(telescope.apertureMm / 120 - 1).toBeLessThan(1e-7);
    if (again.task === 'edgePicture') apertures.add(telescope.apertureMm);
    rehearsal.note(worker, again, 5);
  }
  const count = (words: string) => done.filter((each) => each === words).length;
  expect(count('first edgePicture')).toBe(9);
  expect(count('second edgePicture')).toBe(10);
  expect(count('first walkThroughFocus')).toBe(9);
  expect(count('second walkThroughFocus')).toBe(10);
  expect(done[0]).toBe('second edgePicture');
  expect(apertures.size).toBe(10);
  expect(rehearsal.next([first, second])).toBeUndefined();
});

test('nothing long is done again, nor anything by workers that are busy', () => {
  const rehearsal = new Rehearsal<Order>();
  const worker = {};
  expect(rehearsal.next([worker])).toBeUndefined();
  rehearsal.note(worker, order('lesson', rig), 400);
  expect(rehearsal.next([worker])).toBeUndefined();
  rehearsal.note(worker, order('starFrame', rig), 4);
  expect(rehearsal.next([])).toBeUndefined();
  expect(rehearsal.next([worker])?.order.task).toBe('starFrame');
});
