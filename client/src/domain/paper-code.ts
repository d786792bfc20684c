/**
 * Codes on paper, as text: a label of a bobbin case names it, the code of a recipe card holds the whole recipe, so that any
 * phone reads it back from paper alone. No code is an address: nothing but this app makes anything of it.
 *
 *     EVENPULL CASE 7KMXW2
 *     EVENPULL RECIPE 1 1A2B3C4D {"n":"Night sky", …}
 *
 * The 1 is the form's version, then the CRC-32 of what follows. What is read is a stranger's text: too long, changed or
 * with a value that no record may hold, it is refused whole.
 */
import type { Json } from './field';
import { type Fields, faults } from './records';
import { type CodeFault, mostRead, sealed, unsealed } from './sealed-code';
import { shortCode, typedCode } from './short-code';

export type PaperThread = Fields; // number, fibre, colour, countSystem, countThousandths, countPlies
/** A machine or bobbin case as its recipe's card names it: by its words, and by the code of its record. */
export type PaperName = { readonly name: string; readonly code: string };

/** A recipe that needs no other record to be read. */
export type PaperRecipe = {
  readonly id: string;
  /** The fields of a recipe that name no other record. */
  readonly fields: Fields;
  readonly machine?: PaperName;
  readonly bobbinCase?: PaperName;
  readonly topThread?: PaperThread;
  readonly bobbinThread?: PaperThread;
};

export { type CodeFault, mostCodeBytes } from './sealed-code';
export type ReadCode =
  | { readonly bobbinCase: string }
  | { readonly recipe: PaperRecipe }
  | { readonly fault: CodeFault };

const caseStart = 'EVENPULL CASE ';
const recipeStart = 'EVENPULL RECIPE ';

/** Each field under one letter: a code is as large as its text is long. */
const letters = {
  ...{ n: 'name', k: 'bobbinKind', f: 'fill', d: 'dropTenthsIn', o: 'topMinutesFromFlush', g: 'topDialTenths' },
  ...{
    h: 'bobbinMinutesHint',
    e: 'needle',
    a: 'batting',
    r: 'backing',
    s: 'stitchesPerInch',
    w: 'work',
    l: 'score',
    x: 'text',
  },
} as const;
const names = { m: ['machine', 'name'], c: ['bobbinCase', 'label'] } as const;
const threads = { t: 'topThread', b: 'bobbinThread' } as const;
const threadFields = ['number', 'fibre', 'colour', 'countSystem', 'countThousandths', 'countPlies'] as const;

export const caseCode = (id: string): string => `${caseStart}${shortCode(id)}`;

/** A name on a card and the code of its record. */
export const paperName = (name: string, id: string): PaperName => ({ name, code: shortCode(id) });

/** A name that was read, by the rule of the record that it names; undefined where it can't be one. */
export function nameIn(value: Json, kind: string, field: string): PaperName | undefined {
  const [name, code] = Array.isArray(value) ? (value as Json[]) : [];
  const fit = typeof name === 'string' && typeof code === 'string' && typedCode(code) === code;
  return fit && faults(kind, { [field]: name }, true).length === 0 ? { name, code } : undefined;
}

/**
 * The code of a recipe. What was remembered in words is left out where there is no room for it (`without`); undefined where
 * even its names are too long for a code.
 */
export function recipeCode(recipe: PaperRecipe): { readonly code: string; readonly without: boolean } | undefined {
  const { text, ...rest } = recipe.fields;
  const whole = written(recipe);
  if (whole) return { code: whole, without: false };
  const bare = text === undefined ? undefined : written({ ...recipe, fields: rest });
  return bare === undefined ? undefined : { code: bare, without: true };
}

function written(r: PaperRecipe): string | undefined {
  const out: { [letter: string]: Json } = { i: r.id };
  for (const [letter, field] of Object.entries(letters)) {
    const value = r.fields[field];
    if (value !== undefined && value !== null && value !== '') out[letter] = value;
  }
  for (const [letter, [part]] of Object.entries(names)) {
    const named = r[part];
    if (named) out[letter] = [named.name, named.code];
  }
  for (const [letter, part] of Object.entries(threads)) {
    const thread = r[part];
    if (!thread) continue;
    const values = threadFields.map((f) => thread[f] ?? 0); // no field of a thread may be 0
    while (values.at(-1) === 0) values.pop();
    out[letter] = values;
  }
  return sealed(recipeStart, out);
}

/** What a text says that was read from paper, or was typed off a label. Never throws. */
export function readCode(text: string): ReadCode {
  if (text.length > mostRead) return { fault: text.startsWith(recipeStart) ? 'too-long' : 'not-ours' };
  const plain = text.trim();
  const typed = typedCode(plain.startsWith(caseStart) ? plain.slice(caseStart.length) : plain);
  if (typed) return { bobbinCase: typed };
  if (plain.startsWith(caseStart)) return { fault: 'damaged' };
  const opened = unsealed(recipeStart, plain);
  return 'fault' in opened ? opened : recipeIn(opened.read);
}

function recipeIn(read: ReadonlyMap<string, Json>): ReadCode {
  const id = read.get('i');
  const fields: { [field: string]: Json } = {};
  for (const [letter, field] of Object.entries(letters)) {
    const value = read.get(letter);
    if (value !== undefined) fields[field] = value;
  }
  const parts: { [part: string]: PaperName | PaperThread } = {};
  for (const [letter, [part, field]] of Object.entries(names)) {
    const value = read.get(letter);
    if (value === undefined) continue;
    const found = nameIn(value, part, field);
    if (!found) return { fault: 'unusable' };
    parts[part] = found;
  }
  for (const [letter, part] of Object.entries(threads)) {
    const value = read.get(letter);
    if (value === undefined) continue;
    if (!Array.isArray(value) || value.length > threadFields.length) return { fault: 'unusable' };
    const thread = Object.fromEntries(
      threadFields.flatMap((f, i) => (value[i] === undefined || value[i] === 0 ? [] : [[f, value[i] as Json]])),
    );
    if (faults('thread', thread, false).length > 0) return { fault: 'unusable' };
    parts[part] = thread;
  }
  // The rule of a record's id, as any field has it that names a recipe.
  if (id === undefined || faults('note', { recipe: id }, false).length > 0) return { fault: 'unusable' };
  if (faults('recipe', fields, true).length > 0) return { fault: 'unusable' };
  return { recipe: { id: id as string, fields, ...parts } };
}
