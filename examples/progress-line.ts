/** One line on the terminal that tells how far long work is; silent when nobody watches. */
import type { Progress } from '@holdfast/sim';

export function progressLine(stream: NodeJS.WriteStream): {
  update(progress: Progress): void;
  clear(): void;
} {
  const shown = stream.isTTY === true;
  return {
    update({ task, done, total }) {
      if (shown) stream.write(`\r\x1b[2K${String(Math.round((100 * done) / total)).padStart(3)} %  ${task}`);
    },
    clear() {
      if (shown) stream.write('\r\x1b[2K');
    },
  };
}
