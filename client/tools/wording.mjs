// No path of one machine and no registry's address in anything committed.
import { spawnSync } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';

const files = spawnSync('git', ['ls-files', '-co', '--exclude-standard'], { encoding: 'utf8' }).stdout.split('\n');
const hosts = ['registry.' + 'npmjs', 'proxy.' + 'golang', 'sum.' + 'golang', 'deb.' + 'debian'];
const rules = [
  [/(?<![\w.$}])\/(work|root|home)\/[a-z]/, 'a path of one machine'],
  [new RegExp(hosts.map((h) => h.replace('.', '\\.')).join('|')), "a registry's address"],
];
let found = 0;
for (const file of files) {
  if (!file || !existsSync(file) || /\.(png|woff2|ico|db|gz)$/.test(file)) continue;
  readFileSync(file, 'utf8').split('\n').forEach((line, i) => {
    for (const [rule, why] of rules) {
      if (rule.test(line)) {
        console.log(`${file}:${i + 1}: ${why}`);
        found++;
      }
    }
  });
}
process.exit(found ? 1 : 0);
