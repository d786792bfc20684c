/** Style sheets are bundled from where they are imported. */
declare module '*.css' {}
/** For tests only, which read the sheets as text; the client itself never sees Node. */
declare module 'node:fs' {
  export function readFileSync(path: URL, encoding: 'utf8'): string;
  export function readdirSync(path: URL, options: { recursive: true }): string[];
}
