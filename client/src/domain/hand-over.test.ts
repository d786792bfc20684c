import { describe, expect, it } from 'vitest';
import { careNow } from './care';
import { type Given, give, giveFault, giveLimits, handOver, take } from './hand-over';
import { faults } from './records';
import type { Ctx } from './task/context';
import { bobbinCase, filled, hex, machine } from './task/world';
import { withDraft } from './task/writer';

const given: Given = { verdict: 'good', reason: '', row: '7', tight: 'soft' };
const ids = [hex(0xf1), hex(0xf2)] as const;
const hour = 3_600_000;
const at = (hours: number) => filled.now + hours * hour;
const event = (n: number, hours: number, more: object) => ({
  id: hex(n),
  at: at(hours),
  by: 'w',
  type: 'good',
  ...more,
});

/** The context after these drafts, as the store would give it at that hour. */
function then(ctx: Ctx, hours: number, drafts: ReturnType<typeof give>): Ctx {
  for (const d of drafts) expect(faults(d.kind, d.set, true)).toEqual([]);
  return drafts.reduce((c, d) => withDraft(c, d.kind, d.id, d.set), { ...ctx, now: at(hours) });
}

describe('who may give it with which words', () => {
  const stopped = { ...filled, events: [event(1, 0, { type: 'do-not-run', reason: 'A knock' })] };
  it.each([
    [given, filled, undefined],
    [{ ...given, verdict: 'watch' as const }, filled, 'reason'],
    [{ ...given, verdict: 'stop' as const, reason: ' \n' }, filled, 'reason'],
    [{ ...given, verdict: 'watch' as const, reason: 'Pulls at the end of a row' }, filled, undefined],
    [{ ...given, row: 'x'.repeat(giveLimits.row + 1) }, filled, 'too-long'],
    [{ ...given, reason: 'x'.repeat(giveLimits.reason + 1) }, filled, 'too-long'],
    [given, stopped, 'stands'],
    [{ ...given, verdict: 'stop' as const, reason: 'Still knocks' }, stopped, undefined],
  ])('%#', (g, ctx, fault) => expect(giveFault(g, ctx)).toBe(fault));
});

describe('the first line', () => {
  it('is empty until somebody says it', () => expect(handOver(filled).said).toBeUndefined());

  it('is what was said, by whom and when, until another says it', () => {
    const one = then(filled, 1, give(given, filled, ids));
    expect(handOver(one)).toMatchObject({ said: { verdict: 'good', at: at(1), given: ids[0] }, row: '7' });
    const two = then(one, 2, give({ ...given, verdict: 'watch', reason: 'Frays' }, one, [hex(0xf3), hex(0xf4)]));
    expect(handOver(two).said).toMatchObject({ verdict: 'watch', reason: 'Frays', at: at(2) });
  });

  it('“do not run” marks the machine, stands above “good to stitch”, and goes when it is lifted', () => {
    const stop = then(filled, 1, give({ ...given, verdict: 'stop', reason: 'It knocks' }, filled, ids));
    expect(stop.events.map((e) => e.type)).toEqual(['do-not-run', 'handed-over']);
    expect(handOver(stop).said).toMatchObject({ verdict: 'stop', reason: 'It knocks', given: ids[0] });
    const lifted = { ...stop, events: [...stop.events, event(3, 2, { type: 'lifted', of: ids[1], reason: 'Belt' })] };
    expect(handOver(lifted).said).toBeUndefined();
    const good = then(filled, 1, give(given, filled, ids));
    const struck = { ...good, events: [...good.events, event(4, 2, { type: 'do-not-run', reason: 'jam twice' })] };
    expect(handOver(struck).said).toEqual({ verdict: 'stop', at: at(2), by: 'w', reason: 'jam twice' });
  });

  it('a second “do not run” marks it once', () => {
    const stop = then(filled, 1, give({ ...given, verdict: 'stop', reason: 'It knocks' }, filled, ids));
    expect(give({ ...given, verdict: 'stop', reason: 'Still' }, stop, [hex(5), hex(6)]).map((d) => d.set.type)).toEqual(
      ['handed-over'],
    );
  });

  it('tells what was written after it, and who has it', () => {
    const one = then(filled, 1, give(given, filled, ids));
    const later = { ...one, events: [...one.events, event(7, 3, { type: 'struck' })] };
    expect(handOver(later).since?.items).toEqual([{ what: 'struck', at: at(3) }]);
    expect(handOver(one).taken).toBeUndefined();
    expect(handOver(then(later, 4, take(ids[0], later, hex(8)))).taken).toMatchObject({ at: at(4) });
    expect(handOver(then(later, 4, take(hex(0x99), later, hex(8)))).taken).toBeUndefined(); // of another hand-over
  });
});

describe('the rest of the page', () => {
  const screw = `bobbin:${bobbinCase}`;
  const world: Ctx = {
    ...filled,
    now: at(30),
    balancings: [{ id: hex(0x51), at: at(4), by: 'w', machine }],
    samples: [{ id: hex(0x52), at: at(5), by: 'w', rays: [], allAlike: true, balancing: hex(0x51), round: 3 }],
    changes: [
      { id: hex(1), at: at(1), by: 'w', screw, type: 'move', minutes: 5, after: [] },
      { id: hex(2), at: at(4), by: 'w', screw, type: 'move', minutes: -5, after: [hex(1)] },
      { id: hex(3), at: at(5), by: 'w', screw, type: 'move', minutes: -30, after: [hex(2)] },
      { id: hex(4), at: at(6), by: 'w', screw, type: 'strike', strikes: hex(3), after: [hex(3)] },
    ],
    findings: [{ id: hex(5), at: at(4.5), by: 'w', finding: 'push_up', state: 'drum', balancing: hex(0x51), round: 2 }],
    events: [
      event(6, 2, {}),
      event(7, 3, { type: 'step', step: 'caution sew' }),
      event(8, 4.2, { type: 'step', step: 'floss_discs' }),
      event(9, 4.3, { type: 'struck' }),
      event(10, 7, { type: 'new-needle' }),
    ],
  };
  it('has the round that is open, and what was tried since it was last good: no caution, nothing struck', () => {
    const page = handOver(world);
    expect(page.open).toEqual({ at: at(4), by: 'w', round: 3 });
    expect(page.tried.map((t) => (t.of === 'act' ? t.act : t.record.id))).toEqual([
      ...[hex(2), 'floss_discs', hex(5), 'new-needle'],
    ]);
    expect(page.good?.id).toBe(hex(6));
    expect(page.tight).toEqual({ state: 'drum', at: at(4.5) });
    expect(page.happened.map((e) => e.type)).toEqual(['struck']);
    expect(
      handOver({ ...world, balancings: world.balancings.map((b) => ({ ...b, ended: 'left' })) }).open,
    ).toBeUndefined();
  });
  it('the row is of the quilt that is on the machine', () => {
    const one = then(world, 31, give(given, world, ids));
    expect(handOver(one)).toMatchObject({ row: '7', tight: { state: 'soft', at: at(31) } });
    expect(handOver({ ...one, bench: { ...one.bench, quilt: hex(0xd2) } }).row).toBeUndefined();
  });
  it('words alone do not end a long rest', () => {
    const rested = { ...filled, now: filled.now + 40 * 24 * hour, events: [event(1, 0, {})] };
    const due = (ctx: Ctx) => careNow({ ctx, done: [], choices: {} }).find((s) => s.item.id === 'rest')?.state;
    expect(due(rested)).toBe('due');
    expect(due(then(rested, 40 * 24, give(given, rested, ids)))).toBe('due');
  });
});
