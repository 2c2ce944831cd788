/** One line on the terminal that tells how far long work is; silent when nobody watches. */
import type { Progress } from '@holdfast/sim';

export function progressLine(stream: NodeJS.WriteStream): {
  update(progress: Progress): void;
  clear(): void;
} {
  const shown = stream.isTTY === true && process.env['TERM'] !== 'dumb';
  return {
    update({ task, done, total, secondsLeft }) {
      if (!shown) return;
      const part = `${String(Math.round((100 * done) / total)).padStart(3)} %  ${task}`;
      stream.write(`\r\x1b[2K${part}${secondsLeft === undefined ? '' : `, ${timeText(secondsLeft)} left`}`);
    },
    clear() {
      if (shown) stream.write('\r\x1b[2K');
    },
  };
}

/** `40 s`, `3 min`, `2.5 h`: as much as an estimate is worth. */
function timeText(seconds: number): string {
  if (seconds < 90) return `${Math.round(seconds)} s`;
  return seconds < 5400 ? `${Math.round(seconds / 60)} min` : `${(seconds / 3600).toFixed(1)} h`;
}
