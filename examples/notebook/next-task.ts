/** What is done after it is a task of its own, so that the page answers in between. */
export const nextTask = (): Promise<void> => new Promise((resolve) => setTimeout(resolve));
