/** Rules for one value of a field: what it may be, and in one word what is wrong with it. */

export type Json = null | boolean | number | string | readonly Json[] | { readonly [key: string]: Json };

/** Why a value can't be used. The words are in the text. */
export const fieldFaults = [
  'not-text',
  'not-a-number',
  'not-whole',
  'not-yes-or-no',
  'not-a-list',
  'not-an-object',
  'not-an-id',
  'not-a-colour',
  'not-a-choice',
  'too-long',
  'too-many',
  'too-small',
  'too-big',
  'control-character',
  'missing',
  'not-both',
  'unknown-kind',
] as const;
export type FieldFault = (typeof fieldFaults)[number];

/** Undefined when the value can be used. */
export type Rule = (value: Json) => FieldFault | undefined;

/** UTF-8 bytes of the text as it stands in an op: quotes, escapes and all. */
export function bytesInOp(text: string): number {
  let bytes = 2;
  for (const char of text) {
    const code = char.codePointAt(0) ?? 0;
    if (code < 0x20) bytes += '\b\t\n\f\r'.includes(char) ? 2 : 6;
    else if (char === '"' || char === '\\') bytes += 2;
    else bytes += code < 0x80 ? 1 : code < 0x800 ? 2 : code < 0x10000 ? 3 : 4;
  }
  return bytes;
}

// biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is looked for
const inOneLine = /[\u0000-\u001f\u007f-\u009f\u2028\u2029]/;
// biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is looked for
const inManyLines = /[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f]/;

/** One line of at most `units` UTF-16 units. */
export const line =
  (units: number): Rule =>
  (v) =>
    textFault(v, units, inOneLine);

/** Lines of text, at most `units` UTF-16 units and `bytes` as written in the op. */
export const prose =
  (units: number, bytes: number): Rule =>
  (v) =>
    textFault(v, units, inManyLines) ?? (typeof v === 'string' && bytesInOp(v) > bytes ? 'too-long' : undefined);

function textFault(v: Json, units: number, unfit: RegExp): FieldFault | undefined {
  if (typeof v !== 'string') return 'not-text';
  if (v.length > units) return 'too-long';
  return unfit.test(v) ? 'control-character' : undefined;
}

export const matching =
  (form: RegExp, fault: FieldFault): Rule =>
  (v) =>
    typeof v !== 'string' ? 'not-text' : form.test(v) ? undefined : fault;

export const id = matching(/^[0-9a-f]{32}$/, 'not-an-id');

export const whole =
  (least: number, most: number): Rule =>
  (v) => {
    if (typeof v !== 'number') return 'not-a-number';
    if (!Number.isSafeInteger(v)) return 'not-whole';
    return v < least ? 'too-small' : v > most ? 'too-big' : undefined;
  };

export const yesNo: Rule = (v) => (typeof v === 'boolean' ? undefined : 'not-yes-or-no');

export const choice =
  (...values: readonly (string | number)[]): Rule =>
  (v) =>
    (typeof v === 'string' || typeof v === 'number') && values.includes(v) ? undefined : 'not-a-choice';

export const list =
  (of: Rule, most: number): Rule =>
  (v) => {
    if (!Array.isArray(v)) return 'not-a-list';
    return v.length > most ? 'too-many' : firstFault(v, of);
  };

/** An object with these fields; those whose name ends in `!` must be there. Fields not named are left alone. */
export const shape = (fields: { readonly [name: string]: Rule }): Rule => {
  const rules = Object.entries(fields).map(
    ([name, rule]) => [name.replace('!', ''), rule, name.endsWith('!')] as const,
  );
  return (v) => {
    if (!isObject(v)) return 'not-an-object';
    for (const [name, rule, needed] of rules) {
      const value = Object.hasOwn(v, name) ? v[name] : undefined;
      const fault = value === undefined ? (needed ? 'missing' : undefined) : rule(value);
      if (fault) return fault;
    }
    return undefined;
  };
};

/** An object of any keys of at most 64 units, each with a value of one rule. */
export const dictionary =
  (of: Rule, most: number): Rule =>
  (v) => {
    if (!isObject(v)) return 'not-an-object';
    const entries = Object.entries(v);
    if (entries.length > most) return 'too-many';
    return entries.some(([k]) => k.length > 64)
      ? 'too-long'
      : firstFault(
          entries.map((e) => e[1]),
          of,
        );
  };

export const either =
  (...rules: readonly Rule[]): Rule =>
  (v) => {
    let fault: FieldFault | undefined;
    for (const rule of rules) {
      const found = rule(v);
      if (!found) return undefined;
      fault ??= found;
    }
    return fault;
  };

export function isObject(v: Json): v is { readonly [key: string]: Json } {
  return typeof v === 'object' && v !== null && !Array.isArray(v);
}

function firstFault(values: readonly Json[], of: Rule): FieldFault | undefined {
  for (const v of values) {
    const fault = of(v);
    if (fault) return fault;
  }
  return undefined;
}
