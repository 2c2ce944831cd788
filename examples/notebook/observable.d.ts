/** What the page uses of two packages that come without types. */
declare module '@observablehq/runtime' {
  interface Observer {
    pending?(): void;
    fulfilled?(value: unknown): void;
    rejected?(error: Error): void;
  }
  interface Variable {
    // biome-ignore lint/suspicious/noExplicitAny: inputs have the types of the values that they name.
    define(name: string | null, inputs: string[], definition: (...inputs: any[]) => unknown): Variable;
  }
  export class Runtime {
    module(): { variable(observer?: Observer): Variable };
  }
}

declare module '@observablehq/inputs' {
  export function range(extent: number[], options: object): HTMLElement;
  export function select(choices: ReadonlyMap<string, string>, options: object): HTMLElement;
}
