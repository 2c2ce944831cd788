/** The values of a control as they come: the first at once, then the newest after each change. */
export function* inputValues<T>(
  input: EventTarget & { readonly value: T },
): Generator<T | Promise<T>, void, unknown> {
  let wake: ((value: T) => void) | undefined;
  let isStale = false;
  const changed = () => {
    if (wake === undefined) isStale = true;
    else wake(input.value);
    wake = undefined;
  };
  input.addEventListener('input', changed);
  try {
    yield input.value;
    for (;;) {
      const hasNews = isStale;
      // Before the value is taken: what changes after that is news again.
      isStale = false;
      yield hasNews
        ? input.value
        : new Promise<T>((resolve) => {
            wake = resolve;
          });
    }
  } finally {
    input.removeEventListener('input', changed);
  }
}
