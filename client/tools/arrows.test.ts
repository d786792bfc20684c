import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { helpers, importsOf, partOf, rules, wrongArrows } from './arrows';

const src = new URL('../src/', import.meta.url);
const program = readdirSync(src, { recursive: true })
  .map((name) => String(name).replaceAll('\\', '/'))
  .filter((name) => /\.tsx?$/.test(name) && !/\.test\.tsx?$/.test(name) && !helpers.includes(name));

describe('which part imports which', () => {
  it('holds for every file of the program', () => {
    expect(program.length).toBeGreaterThan(50);
    expect(program.flatMap((file) => wrongArrows(file, readFileSync(new URL(file, src), 'utf8')))).toEqual([]);
  });

  it('knows every part that its rules name', () => {
    const parts = new Set(program.map(partOf));
    for (const [part, rule] of Object.entries(rules))
      for (const name of [part, ...rule.values, ...(rule.types ?? [])])
        expect(parts, `${part}: ${name}`).toContain(name);
    for (const helper of helpers) expect(readFileSync(new URL(helper, src), 'utf8')).not.toBe('');
  });

  const forbidden: readonly (readonly [file: string, source: string])[] = [
    ['domain/drop.ts', `import { newId } from '../sync/ops';`],
    ['domain/drop.ts', `import type { Row } from '../store/store';`],
    ['domain/task/drop.ts', `import { text } from '../../text/task';`],
    ['domain/drop.ts', `import { sha256 } from '@noble/hashes/sha2.js';`],
    ['screens/frame.tsx', `import { Store } from '../store/store';`],
    ['screens/frame.tsx', `import type { Row } from '../store/store';`],
    ['screens/book/note.tsx', `import { limits } from '../../sync/ops';`],
    ['screens/frame.tsx', `const s = await import('../store/store');`],
    ['screens/frame.tsx', `import { createApp } from '../app';`],
    ['screens/frame.tsx', `const news = await fetch('/v1/server');`],
    ['screens/frame.tsx', `const db = indexedDB.open('evenpull');`],
    ['ui/card.tsx', `import type { State } from '../state';`],
    ['text/frame.ts', `import { createApp } from '../app';`],
    ['text/frame.ts', `import { Card } from '../ui/card';`],
    ['store/db.ts', `import { Frame } from '../screens/frame';`],
    ['store/db.ts', `import { verdict } from '../domain/drop';`],
    ['store/db.ts', `import { send } from '../sync/transport';`],
    ['sync/ops.ts', `import { send } from './transport';`],
    ['sync/merge.ts', `import { unwrap } from 'idb';`],
    ['sync/merge.ts', `import { readFileSync } from 'node:fs';`],
    ['sync/transport.ts', `import { Store } from '../store/store';`],
    ['sync/phone.ts', `import { loadVectors } from './vectors';`],
    ['rescue/guard.ts', `import { words } from '../text/shell';`],
    ['worker/sw.ts', `import { newId } from '../sync/ops';`],
    ['connect.ts', `import './main';`],
    ['connect.ts', `import { dump } from './rescue/dump';`],
    ['main.tsx', `import lodash from 'lodash';`],
    ['read.ts', `export { Store } from './store/store';`],
    ['read.ts', `import cases from '../../testdata/vectors/ops.json';`],
    ['domain/two.ts', `import {\n  a, // one\n  type B,\n} from\n  '../sync/ops';`],
  ];
  it.each(forbidden)('refuses in %s: %s', (file, source) => {
    expect(wrongArrows(file, source)).toHaveLength(1);
  });

  const allowed: readonly (readonly [file: string, source: string])[] = [
    ['domain/task/drop.ts', `import { inBand } from '../change';\nimport './task';`],
    [
      'screens/book/note.tsx',
      `import type { Send } from '../../state';\nimport { Card } from '../../ui/card';\nimport './note.css';`,
    ],
    [
      'screens/frame.tsx',
      `import { type Send, type State } from '../state';\nimport { useState } from 'preact/hooks';`,
    ],
    [
      'store/db.ts',
      `import { openDB } from 'idb';\nimport type { Rec } from '../sync/merge';\nimport type { Row } from '../domain/task';`,
    ],
    ['sync/transport.ts', `import { parse } from './wire';\nconst a = fetch('/v1/server');`],
    ['main.tsx', `import { Store } from './store/store';\nimport { render } from 'preact';`],
    ['domain/drop.ts', `// see import { x } from '../store/store'\n/* import '../sync/ops' */\nexport const far = 6;`],
  ];
  it.each(allowed)('allows in %s: %s', (file, source) => {
    expect(wrongArrows(file, source)).toEqual([]);
  });

  it('sees every form of import', () => {
    const source = `import a from './a';\nimport * as b from './b';\nimport c, { type D } from './c';\nimport type { E } from './e';
      import { type F, type G } from './f';\nexport { h } from './h';\nexport * from './i';\nexport type { J } from './j';
      import './k';\nconst l = () => import('./l');`;
    const found = importsOf(source).map((i) => `${i.from}${i.typeOnly ? ' type' : ''}`);
    expect(found.sort()).toEqual(['./a', './b', './c', './e type', './f type', './h', './i', './j type', './k', './l']);
  });
});
