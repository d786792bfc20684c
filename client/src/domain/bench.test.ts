import { describe, expect, it } from 'vitest';
import { blankQuilt, casesHere, fitting, lastReading, newCase, newQuilt, sameQuilt } from './bench';
import { machineOf, newMachine, turns } from './machine';
import type { Ctx, Reading } from './task/context';
import { bobbinCase, filled, hex, machine, otherCase } from './task/world';
import { withDraft } from './task/writer';

const other = hex(0xa2);
const quiltId = filled.bench.quilt ?? '';
const written = (ctx: Ctx, drafts: ReturnType<typeof newQuilt> | undefined): Ctx =>
  (drafts ?? []).reduce((c, d) => withDraft(c, d.kind, d.id, d.set), ctx);
const cases = (...fits: (string[] | undefined)[]): Ctx => ({
  ...filled,
  machines: [...filled.machines, { id: other, at: 0, by: '', name: 'Window seat' }],
  bobbinCases: fits.map((f, i) => ({ id: hex(0xb0 + i), at: 0, by: '', label: `${i}`, ...(f ? { fits: f } : {}) })),
});
const labels = (list: readonly { readonly label: string }[]) => list.map((c) => c.label).join();

describe('bobbin cases of a machine', () => {
  it('are those that name it, that name none, or that name only machines that are gone', () => {
    const ctx = cases([machine], [other], undefined, [], [hex(0xee)], [other, machine], [hex(0xee), other]);
    expect(labels(fitting(ctx))).toBe('0,2,3,4,5');
    expect(labels(casesHere({ ...ctx, bench: { bobbinCase: hex(0xb1) } }))).toBe('0,1,2,3,4,5');
  });
  it('a new one fits this machine and is in it', () => {
    const ctx = written(filled, newCase(filled, hex(1), '  Red dot '));
    expect(fitting(ctx).at(-1)).toMatchObject({ label: 'Red dot', fits: [machine] });
    expect(ctx.bench.bobbinCase).toBe(hex(1));
  });
});

describe('a new quilt', () => {
  const sewn: Ctx = { ...filled, bench: { ...filled.bench, batting: 'wool', backing: 'plain cotton' } };
  const fresh = written(sewn, newQuilt(sewn, hex(7)));
  it('keeps machine, case, threads and needle, and clears the sandwich', () => {
    const { quilt, batting, backing, previous, ...rest } = fresh.bench;
    expect({ quilt, batting, backing }).toEqual({ quilt: hex(7), batting: '', backing: '' });
    const { quilt: _q, batting: _b, backing: _k, ...kept } = sewn.bench;
    expect(rest).toEqual(kept);
  });
  it('and "Same quilt again" brings it all back, once', () => {
    const again = written(fresh, sameQuilt(fresh));
    expect(again.bench).toMatchObject({ quilt: quiltId, batting: 'wool', backing: 'plain cotton' });
    expect(sameQuilt(again)).toBeUndefined();
    expect(sameQuilt(filled)).toBeUndefined();
  });
  it('also after two taps on "New quilt": an empty quilt is not what one comes back to', () => {
    const twice = written(fresh, newQuilt(fresh, hex(8)));
    expect(written(twice, sameQuilt(twice)).bench).toMatchObject({ quilt: quiltId, batting: 'wool' });
  });
  it('is not made a second time while it is blank, whatever its button is taken for', () => {
    expect([blankQuilt(sewn), blankQuilt(fresh), blankQuilt({ ...filled, bench: {}, quilts: [] })]).toEqual([
      false,
      true,
      false,
    ]);
    expect(newQuilt(fresh, hex(8))).toEqual([]);
    const named = { ...fresh, quilts: fresh.quilts.map((q) => (q.id === hex(7) ? { ...q, name: 'River' } : q)) };
    expect(newQuilt(named, hex(8))).toHaveLength(2);
    const bobbin = { id: hex(9), at: 1, by: '', type: 'new-bobbin', quilt: hex(7) };
    expect(newQuilt({ ...fresh, events: [bobbin] }, hex(8))).toHaveLength(2);
  });
  it('and a quilt without a name that was balanced on is one to come back to', () => {
    const worked = { ...fresh, balancings: [{ id: hex(9), at: 0, by: '', machine, quilt: hex(7) }] };
    const next = written(worked, newQuilt(worked, hex(8)));
    expect(written(next, sameQuilt(next)).bench.quilt).toBe(hex(7));
  });
});

describe('the last reading', () => {
  const reading = (at: number, more: Partial<Reading>) => ({ id: hex(at), at, by: '', type: 'drop' as const, ...more });
  it('is of the case that is in; of any where none is said', () => {
    const readings = [reading(1, { bobbinCase }), reading(2, { bobbinCase: otherCase }), reading(3, { type: 'pull' })];
    expect(lastReading({ ...filled, readings })?.at).toBe(1);
    expect(lastReading({ ...filled, readings, bench: {} })?.at).toBe(2);
    expect(lastReading({ ...filled, readings: [] })).toBeUndefined();
  });
});

describe('a machine', () => {
  it('has a position to lose where its knob turns, and in the case screw always', () => {
    const dial: Ctx = { ...filled, machines: [{ id: machine, at: 0, by: '', name: 'Big frame', topKnob: 'dial' }] };
    expect([turns(`top:${machine}`, filled), turns(`top:${machine}`, dial)]).toEqual([true, false]);
    expect(turns(`bobbin:${bobbinCase}`, dial)).toBe(true);
  });
  it('that is new has a name and nothing else', () => {
    const ctx = written({ ...filled, machine: other }, newMachine(filled, other, 'Window seat'));
    expect(machineOf(ctx)).toMatchObject({ name: 'Window seat' });
    expect(machineOf(ctx)).not.toHaveProperty('topKnob');
  });
});
