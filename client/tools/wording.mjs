// No path of one machine and no registry's address in anything committed.
import { spawnSync } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';

const listed = spawnSync('git', ['ls-files', '-co', '--exclude-standard'], { encoding: 'utf8' });
const files = listed.stdout.split('\n').filter((f) => f && existsSync(f) && !/\.(png|woff2|ico|db|gz)$/.test(f));
const hosts = [
  ['registry', 'npmjs'],
  ['registry', 'yarnpkg'],
  ['proxy', 'golang'],
  ['sum', 'golang'],
  ['deb', 'debian'],
];
const rules = [
  [/(?<![\w.$}~*-])\/(work|root|home|tmp|Users)\/[A-Za-z]/, 'a path of one machine'],
  [new RegExp(hosts.map((h) => h.join('\\.')).join('|')), "a registry's address"],
];
let found = files.length === 0 ? 1 : 0;
for (const file of files) {
  readFileSync(file, 'utf8')
    .split('\n')
    .forEach((text, i) => {
      for (const [rule, why] of rules) {
        if (!rule.test(text)) continue;
        console.log(`${file}:${i + 1}: ${why}`);
        found++;
      }
    });
}
if (/"resolved"/.test(readFileSync('package-lock.json', 'utf8'))) {
  console.log('package-lock.json names where packages were fetched from');
  found++;
}
process.exit(found ? 1 : 0);
