import { expect, test } from 'vitest';
import { type Rename, renameRecord } from './fork';
import {
  applyOp,
  type Context,
  covers,
  hidden,
  purge,
  type Rec,
  takeRecord,
  takeVoid,
  undone,
  type Vector,
  type Void,
} from './merge';
import { type Dot, type Json, parseOp } from './ops';
import { loadVectors } from './vectors';
import { readRecord, readVoid } from './wire';

type Fields = { [name: string]: Json };
type Case = {
  name: string;
  do: 'apply' | 'take' | 'void' | 'purge' | 'rename' | 'hidden' | 'undone';
  start: Fields;
  want: Fields | boolean;
  c?: Vector;
  voids?: Void[];
  purged?: Dot[];
  revived?: [field: string, dot: Dot][];
  op?: string;
  theirs?: { fields: Fields; c: Vector };
  void?: Void;
  dots?: Dot[];
  fork?: Rename;
};

const optional = ['c?', 'voids?', 'purged?', 'revived?', 'op?', 'theirs?', 'void?', 'dots?', 'fork?'];
const record = (fields: Fields): Rec => readRecord({ kind: 'note', id: '0123456789abcdef0123456789abcdef', fields });

/** Without fields that hold nothing. */
const full = ({ fields }: Rec) =>
  Object.fromEntries(Object.entries(fields).filter(([, f]) => f.live.length + f.dead.length > 0));

function contextOf({ c = {}, voids = [], purged = [], revived = [] }: Case): Context {
  return {
    has: (dot) => covers(c, dot),
    voidOf: (dot) => voids.find((v) => v.dot === dot),
    purged: (dot) => purged.includes(dot),
    revived: (field, dot) => revived.some(([f, d]) => f === field && d === dot),
  };
}

function done(c: Case): Rec {
  const start = record(c.start);
  if (c.do === 'apply' && c.op) return applyOp(start, parseOp(c.op), contextOf(c));
  if (c.do === 'take' && c.theirs) {
    const mine = Object.keys(start.fields).length > 0 ? start : undefined; // one that is not here at all
    return takeRecord(mine, record(c.theirs.fields), c.theirs.c, contextOf(c));
  }
  if (c.do === 'void' && c.void) {
    const v = readVoid(c.void);
    return takeVoid(start, v, contextOf({ ...c, voids: [...(c.voids ?? []), v] }));
  }
  if (c.do === 'purge' && c.dots) return purge(start, (dot) => c.dots?.includes(dot) === true);
  if (c.do === 'rename' && c.fork) return renameRecord(start, c.fork);
  throw new Error(`what to do: ${c.do}`);
}

test.each(loadVectors<Case>('merge', ['name', 'do', 'start', 'want', ...optional]))('$do: $name', (c) => {
  if (c.do === 'undone' && c.void) {
    const dots: { [field: string]: Dot[] } = {};
    for (const [field, dot] of undone(record(c.start), c.void, contextOf(c)))
      dots[field] = [...(dots[field] ?? []), dot];
    expect(dots).toEqual(c.want);
  } else if (typeof c.want === 'boolean') expect(hidden(record(c.start))).toBe(c.want);
  else expect(full(done(c))).toEqual(full(record(c.want)));
});
