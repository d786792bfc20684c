import { readFileSync } from 'node:fs';

/** The JSON of the one file named, or a sentence that says what to do. */
export function jsonOf(args: readonly string[], use: string): { readonly json: unknown } | { readonly say: string } {
  const [file] = args;
  if (file === undefined || args.length > 1) return { say: `Name one file: ${use}` };
  try {
    return { json: JSON.parse(readFileSync(file, 'utf8')) };
  } catch (e) {
    return { say: `${file} can't be read as JSON: ${e instanceof Error ? e.message : String(e)}` };
  }
}
