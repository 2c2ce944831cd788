/**
 * One writer per file, among the runs on one machine. The lock is a listening local socket whose name stands
 * for the file: the operating system takes it away with its process, however that ends, so that a crash
 * leaves no lock behind.
 */
import { createHash } from 'node:crypto';
import { existsSync, realpathSync, rmSync } from 'node:fs';
import { connect, createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { basename, dirname, join } from 'node:path';
import { UnusableInput } from '../../reports/unusable-input.ts';
import { WriteFailure } from '../command-line/write-safely.ts';

/**
 * @returns releases the lock
 * @throws UnusableInput when another run holds it, WriteFailure when the folder of the file does not exist
 */
export async function lockFile(file: string): Promise<() => void> {
  const address = addressOf(file);
  // Where sockets are files, that of a crashed run stays in the folder for temporary files: nobody answers
  // there.
  if (isFile(address) && existsSync(address) && !(await answers(address))) rmSync(address, { force: true });
  const server = createServer((socket) => socket.destroy());
  server.unref();
  await new Promise<void>((resolve, reject) => {
    server.once('error', (error: NodeJS.ErrnoException) =>
      reject(
        error.code === 'EADDRINUSE'
          ? new UnusableInput(
              `${file} is being written by another run: wait for its end, or name another file`,
            )
          : error,
      ),
    );
    server.listen(address, resolve);
  });
  return () => {
    server.close();
  };
}

function addressOf(file: string): string {
  let folder: string;
  try {
    folder = realpathSync(dirname(file));
  } catch (error) {
    throw new WriteFailure(`cannot write ${file}: ${(error as Error).message}`);
  }
  const name = `holdfast-${createHash('sha256')
    .update(join(folder, basename(file)))
    .digest('hex')
    .slice(0, 32)}`;
  if (process.platform === 'win32') return `\\\\.\\pipe\\${name}`;
  // The abstract names of Linux are no files.
  return process.platform === 'linux' ? `\0${name}` : join(tmpdir(), `${name}.sock`);
}

const isFile = (address: string): boolean => address.endsWith('.sock');

const answers = (address: string): Promise<boolean> =>
  new Promise((resolve) => {
    const socket = connect(address, () => {
      socket.destroy();
      resolve(true);
    });
    socket.once('error', () => resolve(false));
  });
