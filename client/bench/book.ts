/** A book of any size to measure with: a studio of two machines after years of work. The same seed gives the same book. */
import { findingStates } from '../src/domain/knowledge/findings';
import { fork } from '../src/domain/virtual/random';
import type { Json } from '../src/sync/ops';

export type Entry = { kind: string; id: string; set: { [field: string]: Json }; at: number };

const minute = 60_000;

/** So many records, oldest first, up to `now` (ms UTC). Ids are made of the seed. */
export function bookOf(size: number, now: number, seed = 1): Entry[] {
  const r = fork(seed, 1);
  const any = <T>(of: readonly T[]): T => of[Math.floor(r.next() * of.length)] as T;
  let made = 0;
  const newId = () => (++made).toString(16).padStart(8, '0').repeat(4);
  const few: Omit<Entry, 'at'>[] = [];
  const put = (kind: string, set: Entry['set'], id = newId()) => {
    few.push({ kind, id, set: { ...set, zone: 60 } });
    return id;
  };
  put('studio', { name: 'Lantern Lane' });
  const machines = ['Big frame', 'Window seat'].map((name) =>
    put('machine', { name, body: 'frame', topKnob: 'turns', topTightens: 'clockwise' }),
  );
  const cases = ['red dot', 'blue dot', 'spare'].map((label) => put('bobbinCase', { label, tightens: 'clockwise' }));
  const threads = Array.from({ length: 12 }, (_, i) =>
    put('thread', { number: String(any([30, 40, 50, 60])), fibre: any(['cotton', 'polyester']), name: `Cone ${i}` }),
  );
  const quilts = Array.from({ length: 20 }, (_, i) => put('quilt', { machine: any(machines), name: `Quilt ${i}` }));
  const recipes = Array.from({ length: 20 }, (_, i) =>
    put('recipe', { machine: any(machines), name: `Mix ${i}`, topThread: any(threads), bobbinThread: any(threads) }),
  );
  for (const machine of machines) {
    const [bobbinCase = ''] = cases;
    const set = { bobbinCase, topThread: any(threads), bobbinThread: any(threads), bobbinKind: 'plastic' };
    put('bench', { ...set, needle: '4.0', batting: 'Cotton', backing: 'Muslin' }, machine);
  }
  const heads = new Map<string, string>();
  const findings = Object.entries(findingStates);
  const kinds: readonly (readonly [share: number, make: () => void])[] = [
    [35, () => put('event', { machine: any(machines), type: any(['good', 'good', 'new-bobbin', 'cleaned', 'jam']) })],
    [
      15,
      () =>
        put('reading', {
          ...{ type: 'drop', machine: any(machines), bobbinCase: any(cases), thread: any(threads) },
          drops: [1, 2, 3].map(() => ({ answer: 'right', tenthsIn: 20 + Math.floor(r.next() * 20), out: false })),
        }),
    ],
    [
      12,
      () => {
        const screw = any([...machines.map((m) => `top:${m}`), ...cases.map((c) => `bobbin:${c}`)]);
        const after = heads.get(screw);
        const id = put('change', { screw, type: 'move', minutes: any([-15, -5, 5, 15]), after: after ? [after] : [] });
        heads.set(screw, id);
      },
    ],
    [
      14,
      () => {
        const [finding, states] = any(findings);
        put('finding', { machine: any(machines), finding, state: any([...states]) });
      },
    ],
    [
      12,
      () =>
        put('sample', {
          machine: any(machines),
          rays: [0, 45, 90, 135].map((direction) => ({ direction, score: Math.floor(r.next() * 5) - 2 })),
          allAlike: false,
        }),
    ],
    [3, () => put('balancing', { machine: any(machines), quilt: any(quilts), ended: 'good-enough' })],
    [
      7,
      () => put('note', { machine: any(machines), text: 'Rehung the backing; the left edge pulled again. '.repeat(3) }),
    ],
    [2, () => put('recipeUse', { recipe: any(recipes), worked: r.next() > 0.3, machine: any(machines) })],
  ];
  const shares = kinds.flatMap(([share, make]) => Array.from({ length: share }, () => make));
  while (few.length < size) any(shares)();
  return few.slice(0, size).map((e, i) => ({ ...e, at: now - (size - i) * 10 * minute }));
}

/** So many notes of one line, about 120 bytes each as a change. */
export function linesOf(size: number, now: number, seed = 1): Entry[] {
  const r = fork(seed, 2);
  const words =
    'lint under the case spring drawn through twice seated again bobbin thread left edge needle cotton'.split(' ');
  return Array.from({ length: size }, (_, i) => {
    let text = '';
    while (text.length < 56) text += `${text && ' '}${words[Math.floor(r.next() * words.length)]}`;
    return {
      kind: 'note',
      id: (i + 1).toString(16).padStart(8, '0').repeat(4),
      set: { text, zone: 60 },
      at: now - (size - i),
    };
  });
}
