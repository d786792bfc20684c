// A reporter for Node's test runner: one JSON line a leaf, {name, file, ok, why}, and {said} for what a test says aside.
import { relative } from 'node:path';
import { inspect } from 'node:util';

export default async function* report(source) {
  let before = 0; // nesting of the result before: a parent's comes right after its children's
  for await (const { type, data } of source) {
    if (type === 'test:diagnostic') yield line({ said: data.message });
    if (type === 'test:stderr' || type === 'test:stdout') yield data.message;
    if (type !== 'test:pass' && type !== 'test:fail') continue;
    const parent = before > data.nesting;
    before = data.nesting;
    const { name } = data;
    const file = data.file ? relative(process.cwd(), data.file) : '';
    const put = data.skip !== undefined || data.todo !== undefined;
    if (type === 'test:fail') {
      const error = data.details.error;
      const cause = error?.cause ?? error;
      if (!parent || error?.failureType !== 'subtestsFailed')
        yield line({ name, file, ok: false, why: typeof cause === 'string' ? cause : inspect(cause) });
    } else if (put) yield line({ name, file, ok: false, why: 'skipped: nothing here may be' });
    else if (!parent && data.details.type !== 'suite') yield line({ name, file, ok: true });
  }
}

const line = (o) => `${JSON.stringify(o)}\n`;
