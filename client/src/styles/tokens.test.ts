import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { rgbOf, xyzOf } from '../domain/colour';

const sheet = readFileSync(new URL('./tokens.css', import.meta.url), 'utf8');

type Tokens = Record<string, string>;

/** The declarations of the first rule whose selector, inside the media query if one is named, is exactly this. */
function rule(selector: string, media?: string): Tokens {
  const css = sheet.replace(/\/\*[\s\S]*?\*\//g, '');
  const from = media ? css.indexOf(`@media (${media})`) : 0;
  const at = css.indexOf(`${selector} {`, from);
  if (from < 0 || at < 0) throw new Error(`no rule ${selector} ${media ?? ''}`);
  const body = css.slice(css.indexOf('{', at) + 1, css.indexOf('}', at));
  return Object.fromEntries(
    body
      .split(';')
      .map((d) => d.split(':').map((s) => s.trim()))
      .filter((d): d is [string, string] => d.length === 2 && d[0] !== ''),
  );
}

const forced = (name: string) => rule(`:root[data-theme="${name}"]`);
const themes: Record<string, Tokens> = {
  day: rule(':root'),
  lamp: { ...rule(':root'), ...forced('lamp') },
  glare: { ...rule(':root'), ...forced('glare') },
};

/** WCAG 2.2 contrast: (L1 + 0.05) / (L2 + 0.05) of the relative luminances, which are Y of sRGB. */
function contrast(theme: Tokens, a: string, b: string): number {
  const y = (name: string) => xyzOf(rgbOf(theme[name] ?? ''))[1];
  const [dark, light] = [y(a), y(b)].sort((p, q) => p - q) as [number, number];
  return (light + 0.05) / (dark + 0.05);
}

/** Least contrast on paper and on tray: 7 for what is read (WCAG 1.4.6), 4.5 for text of 22 px and marks, 4 for lines. */
const least: Record<string, number> = {
  '--ink': 7,
  '--ink-2': 7,
  '--top': 4.5,
  '--bobbin': 4.5,
  '--good': 4.5,
  '--stop': 4.5,
  '--rule': 4,
};

describe.each(Object.keys(themes))('theme %s', (name) => {
  const theme = themes[name] ?? {};
  for (const [token, bar] of Object.entries(least)) {
    test.each(['--paper', '--tray'])(`${token} on %s is at least ${bar}:1`, (ground) => {
      expect(contrast(theme, token, ground)).toBeGreaterThanOrEqual(bar);
    });
  }
});

/** Every rule of every sheet that sets both the colour of its words and the ground under them, as a pair of tokens. */
const pairs = (() => {
  const src = new URL('../', import.meta.url);
  const found = new Map<string, string>();
  for (const file of readdirSync(src, { recursive: true }).filter((f) => f.endsWith('.css'))) {
    const css = readFileSync(new URL(file, src), 'utf8').replace(/\/\*[\s\S]*?\*\//g, '');
    for (const [, selector = '', body = ''] of css.matchAll(/([^{}]+)\{([^{}]*)\}/g)) {
      const words = /(?:^|;)\s*color:\s*var\((--[a-z0-9-]+)\)/.exec(body)?.[1];
      const ground = /(?:^|;)\s*background:\s*var\((--[a-z0-9-]+)\)/.exec(body)?.[1];
      if (words && ground) found.set(`${words} on ${ground}`, `${file}: ${selector.trim()}`);
    }
  }
  return [...found].map(([pair, where]) => [...pair.split(' on '), where] as [string, string, string]);
})();

test('the pairs are found in the sheets', () => {
  const found = pairs.map(([words, ground]) => `${words} on ${ground}`);
  expect(found).toEqual(expect.arrayContaining(['--ink on --paper', '--paper on --ink', '--paper on --stop']));
});

describe.each(Object.keys(themes))('words on their ground in theme %s', (name) => {
  test.each(pairs)('%s on %s (%s)', (words, ground) => {
    const large = [words, ground].some((t) => t === '--stop' || t === '--good' || t === '--top' || t === '--bobbin');
    expect(contrast(themes[name] ?? {}, words, ground)).toBeGreaterThanOrEqual(large ? 4.5 : 7); // 22 px and more, or any
  });
});

test('in glare everything is at least 7:1', () => {
  for (const token of Object.keys(least))
    expect(contrast(themes.glare ?? {}, token, '--paper')).toBeGreaterThanOrEqual(7);
});

test('a theme is the same whether the system or the person picks it', () => {
  expect(rule(':root:not([data-theme])', 'prefers-color-scheme: dark')).toEqual(forced('lamp'));
  expect(rule(':root:not([data-theme])', 'prefers-contrast: more')).toEqual(forced('glare'));
});

test('a forced day undoes nothing but what the system set', () => {
  expect(sheet).not.toContain('data-theme="day"'); // Day is plain :root, which the two :not([data-theme]) rules leave alone
});

test('no text is smaller than 15 px', () => {
  const sizes = Object.entries(themes.day ?? {}).filter(([name]) => name.startsWith('--text-'));
  expect(sizes).toHaveLength(6);
  for (const [name, value] of sizes) expect(Number.parseFloat(value) * 16, name).toBeGreaterThanOrEqual(15);
});

test('what is touched is tall enough', () => {
  const px = (name: string) => Number.parseFloat(themes.day?.[name] ?? '') * 16;
  expect(['--touch', '--touch-control', '--touch-paired', '--touch-main', '--touch-tile', '--tabs'].map(px)).toEqual([
    48, 56, 72, 88, 120, 64,
  ]);
});

test('raw colours stand in the tokens alone', () => {
  const src = new URL('../', import.meta.url);
  const sheets = readdirSync(src, { recursive: true }).filter((f) => f.endsWith('.css') && !f.endsWith('tokens.css'));
  expect(sheets.length).toBeGreaterThan(10);
  for (const file of sheets) {
    expect(readFileSync(new URL(file, src), 'utf8'), file).not.toMatch(
      /#[0-9a-f]{3,8}\b|\b(rgb|hsl|lab|lch|oklch)a?\(/i,
    );
  }
});

test('every token that a sheet uses is defined in the tokens, in that sheet, or by the part that owns it', () => {
  const src = new URL('../', import.meta.url);
  const made = new Set([
    ...Object.keys(themes.day ?? {}),
    '--thread-top',
    '--thread-bobbin',
    '--on-top',
    '--on-bobbin',
  ]);
  for (const file of readdirSync(src, { recursive: true }).filter((f) => f.endsWith('.css'))) {
    const text = readFileSync(new URL(file, src), 'utf8');
    for (const [, name = ''] of text.matchAll(/var\((--[a-z0-9-]+)/g)) {
      expect(made.has(name) || text.includes(`${name}:`), `${file}: ${name}`).toBe(true);
    }
  }
});
