/** What the page uses of a package that comes without types. */
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
    _computeSoon(): Promise<void>;
    _computeNow(): Promise<void>;
  }
}
