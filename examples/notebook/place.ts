/**
 * A part of the page that shows answers: it says when they are older than the controls, and why there is
 * none.
 */
import { element } from './element.ts';

/**
 * So long an older answer is not marked, ms: what follows at once does not flicker, and nothing is drawn for
 * it.
 */
const unmarkedMs = 80;

export class Place {
  readonly #element: HTMLElement;
  readonly #line = element('p', { class: 'failure', role: 'status' });
  readonly #waiting = new Set<object>();
  readonly #failed = new Map<object, Error>();
  #marks: ReturnType<typeof setTimeout> | undefined;

  constructor(box: HTMLElement) {
    this.#element = box;
    box.prepend(this.#line);
  }

  get isWaiting(): boolean {
    return this.#waiting.size > 0;
  }

  waits(who: object): void {
    this.#waiting.add(who);
    this.#show();
  }

  shows(who: object): void {
    this.#waiting.delete(who);
    this.#failed.delete(who);
    this.#show();
  }

  fails(who: object, error: Error): void {
    this.#waiting.delete(who);
    this.#failed.set(who, error);
    this.#show();
  }

  #show(): void {
    const [error] = this.#failed.values();
    const isFailed = error !== undefined && this.#waiting.size === 0;
    if (this.isWaiting && this.#failed.size === 0) this.#marks ??= setTimeout(() => this.#mark(), unmarkedMs);
    else this.#mark();
    this.#element.setAttribute('aria-busy', String(this.isWaiting));
    const words = isFailed ? `No answer: ${error.message}` : '';
    if (this.#line.textContent !== words) this.#line.textContent = words;
  }

  #mark(): void {
    clearTimeout(this.#marks);
    this.#marks = undefined;
    this.#element.classList.toggle('stale', this.isWaiting || this.#failed.size > 0);
  }
}
