// Which part of the client may import which. The table is the rule; arrows.test.ts holds the tree to it.

/** What a part may import: parts whose values it may use, parts of which it may use the types only, and npm packages. */
export type Rule = { values: readonly string[]; types?: readonly string[]; packages?: readonly string[] };

/** Parts are the folders of client/src; a file that lies beside them is a part of its own. */
export const rules: { readonly [part: string]: Rule } = {
  domain: { values: [] },
  sync: { values: [], packages: ['@noble/hashes'] },
  'sync/transport': { values: ['sync'], packages: ['@noble/hashes'] },
  store: { values: ['sync'], types: ['domain'], packages: ['idb', '@noble/hashes'] },
  text: { values: ['domain'], types: ['state', 'store', 'sync', 'sync/transport'] }, // a word for each of their reasons
  ui: { values: ['text', 'domain'], packages: ['preact', 'qr'] },
  cues: { values: ['domain'] },
  read: { values: ['domain', 'sync'], types: ['store'] },
  screens: {
    values: ['ui', 'domain', 'text', 'cues', 'read', 'code'],
    types: ['state', 'app'],
    packages: ['preact', '@preact/signals', 'minisearch'],
  },
  typing: { values: ['read'], types: ['store'] },
  machine: { values: ['domain', 'read', 'store'], types: [] },
  code: { values: ['domain'] },
  state: { values: ['domain'], types: ['code', 'read', 'store', 'sync', 'text'] },
  app: {
    values: ['state', 'domain', 'text', 'read', 'machine', 'typing', 'code', 'store', 'sync'],
    packages: ['@preact/signals'],
  },
  worker: { values: [] },
  rescue: { values: [] },
};

/** Wiring: files beside the folders that no rule names may import the whole client, but neither of the two that stand alone. */
const alone = ['rescue', 'main'];
/** They help tests; the program never imports them. */
export const helpers = [
  'sync/vectors.ts',
  'sync/stub-server.ts',
  'sync/scene.ts',
  'store/contract.ts',
  'store/contract-copies.ts',
  'store/contract-exchange.ts',
  'store/contract-writing.ts',
  'domain/task/world.ts',
  'domain/task/explore.ts',
];

/** What only one place may do, found by its text. */
const acts: readonly { what: string; sign: RegExp; where: RegExp }[] = [
  {
    what: 'talks to the network',
    sign: /\bfetch\(|\bXMLHttpRequest\b|\bWebSocket\(/,
    where: /^(sync\/transport|worker\/sw)\.ts$/,
  },
  { what: 'opens IndexedDB', sign: /\bindexedDB\b|\bopenDB\b|\bdeleteDB\b/, where: /^(store|rescue)\// },
];

/** The part of sync that talks: requests, and when to make them. The rest of sync is the core, which knows nothing of it. */
const talking = ['sync/transport', 'sync/listen', 'sync/loop', 'sync/round', 'sync/page'];

/** The part of a file below client/src, named with or without its ending. */
export function partOf(file: string): string {
  if (talking.includes(file.replace(/\.ts$/, ''))) return 'sync/transport';
  const [first = ''] = file.split('/');
  return first.replace(/\.(d\.)?[tj]sx?$/, '');
}

const code = (source: string) => source.replace(/\/\*[\s\S]*?\*\//g, '').replace(/(^|\s)\/\/.*$/gm, '$1');

type Import = { from: string; typeOnly: boolean };

/** The imports of a file, of every form: static, for its effect, dynamic, and passed on by export. */
export function importsOf(source: string): Import[] {
  const text = code(source);
  const found: Import[] = [];
  for (const m of text.matchAll(/\b(import|export)\s+(type\s+)?([^;'"()]*?)\bfrom\s*['"]([^'"]+)['"]/g)) {
    const named = /^\s*\{([^}]*)\}\s*$/.exec(m[3] ?? '')?.[1];
    const names = named?.split(',').filter((n) => n.trim() !== '');
    found.push({
      from: m[4] ?? '',
      typeOnly: m[2] !== undefined || (names?.every((n) => /^\s*type\s/.test(n)) ?? false),
    });
  }
  for (const m of text.matchAll(/\bimport\s*['"]([^'"]+)['"]/g)) found.push({ from: m[1] ?? '', typeOnly: false });
  for (const m of text.matchAll(/\bimport\s*\(\s*['"]([^'"]+)['"]\s*\)/g))
    found.push({ from: m[1] ?? '', typeOnly: false });
  return found;
}

/** Resolves './x' of a file below client/src to a path below it, without an ending. */
function resolve(file: string, from: string): string {
  const at = file.split('/').slice(0, -1);
  for (const step of from.split('/')) {
    if (step === '..') {
      if (at.pop() === undefined) return `../${from}`;
    } else if (step !== '.') at.push(step);
  }
  return at.join('/');
}

/** What is wrong with one file of the program: one sentence an arrow that must not be. */
export function wrongArrows(file: string, source: string): string[] {
  const part = partOf(file);
  const rule = rules[part];
  const wrong: string[] = [];
  for (const { from, typeOnly } of importsOf(source)) {
    if (from.endsWith('.css')) continue; // style sheets are parts of what shows them
    if (!from.startsWith('.')) {
      const name = from.startsWith('@') ? from.split('/').slice(0, 2).join('/') : (from.split('/')[0] ?? from);
      const may = rule ? (rule.packages ?? []) : ['preact', '@preact/signals', '@noble/hashes'];
      if (!may.includes(name)) wrong.push(`${file}: ${part} imports the package ${from}`);
      continue;
    }
    const target = resolve(file, from);
    const to = partOf(target);
    if (helpers.some((h) => h.replace(/\.ts$/, '') === target))
      wrong.push(`${file}: the program imports ${from}, a helper of tests`);
    else if (target.startsWith('..')) wrong.push(`${file}: imports ${from} from outside the client's sources`);
    else if (to === part) continue;
    else if (!rule) {
      if (alone.includes(to) || target === 'worker/sw')
        wrong.push(`${file}: ${part} imports ${from}, which stands alone`);
    } else if (!rule.values.includes(to) && !(typeOnly && rule.types?.includes(to)))
      wrong.push(`${file}: ${part} imports ${typeOnly ? 'types of ' : ''}${to} (${from})`);
  }
  const text = code(source);
  for (const { what, sign, where } of acts)
    if (sign.test(text) && !where.test(file)) wrong.push(`${file}: ${part} ${what}`);
  return wrong;
}
