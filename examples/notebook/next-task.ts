/** What is done after it is a task of its own, so that the page answers in between. */
export const nextTask = (): Promise<void> => new Promise((resolve) => setTimeout(resolve));

/** The same, before the page is drawn again, where the browser can: what follows a change is wanted soon. */
export const promptTask = (): Promise<void> =>
  'scheduler' in globalThis && 'postTask' in globalThis.scheduler
    ? globalThis.scheduler.postTask(() => {}, { priority: 'user-blocking' })
    : nextTask();
