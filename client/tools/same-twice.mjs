// The same sources give the same bytes: bundles once more and compares every file.
import { createHash } from 'node:crypto';
import { readdirSync, readFileSync, statSync } from 'node:fs';
import { bundle } from './steps.mjs';

function sums() {
  const found = new Map();
  for (const name of readdirSync('server/web/dist', { recursive: true })) {
    const path = `server/web/dist/${name}`;
    if (statSync(path).isFile()) found.set(name, createHash('sha256').update(readFileSync(path)).digest('hex'));
  }
  return found;
}

const first = sums();
bundle();
const second = sums();
const differ = [...new Set([...first.keys(), ...second.keys()])].filter((n) => first.get(n) !== second.get(n));
for (const name of differ) console.log(`${name} differs`);
process.exit(differ.length > 0 || first.size < 10 ? 1 : 0);
